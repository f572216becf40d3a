// Package webapp serves a notebook as pages: the shelf of lamps, sittings as they
// happen, assay sheets, comparisons and what physics allows.
//
// Nothing is computed here. Figures come from assay, pictures from figure, the
// sheet from sheet, and everything that is kept from the notebook. The pages are
// templates filled by the server and work without a script; the few scripts
// add what a page cannot do by itself: follow what others change, draw a record as
// it grows, move a slider.
//
// # Who may ask
//
// [Server.Handler] trusts nobody it has not checked (guard.go). A request has to
// name a host that the server goes by, so that a foreign name that is made to
// point here gets nothing; what changes anything has to come from one of the
// pages and carry their token. With a password every request needs a session.
// Pages may run no script and use no style but the server's own. Names of files
// from a request are labels in the notebook and never reach the file system.
//
// # Several at once
//
// Browsers follow the notebook's changes (events.go). Each is told numbers only and
// fetches what it shows; one that does not listen loses its connection, not the
// others their time.
package webapp

// Package live takes readings from instruments while they are made.
//
// A [Session] is one sitting at the bench. It has one clock ([Clock]), hands
// every reading to a [Sink] (a notebook: [Into]; a table: [NewTable]) and says
// what happens to whoever follows it ([Session.Since]). What reads an instrument
// is a [Source]:
//
//	Line    a meter that sends lines over a serial port, read by a pattern
//	SCPI    a meter that is asked by SCPI over TCP or a serial port
//	Folder  a folder into which a spectrometer's program drops its files
//	Push    a board that sends JSON over HTTP
//	Typed   a person at the keyboard
//
// Each of these is a plain struct that can stand in a JSON file ([ReadConfig]):
//
//	s := live.Open(ctx, live.Into(nb, sitting.ID), live.Options{})
//	err := s.Start(&live.SCPI{Name: "mains", Port: live.Port{TCP: "meter.local:5025"},
//		Queries: []live.Query{{Send: "MEAS:POW?", Values: []live.Column{{Key: "power", Unit: "W"}}}}})
//	…
//	err = s.Close()
//
// # Nothing is lost
//
// A reading that cannot be read is a reading too: it is kept with the line as it
// came and a flag that says what was odd ([notebook.Reading.Flags]). Markers such
// as 9.9E37 become flags, never numbers. An instrument that goes away is tried
// again, at growing intervals, until the session ends; meanwhile the others go
// on. Where the sink fails, what was not promised to anybody is kept and tried
// again.
//
// # Only listening
//
// An instrument's settings are its owner's. A query list holds queries; any other
// command, *RST above all, is refused unless it is listed as allowed, and
// everything that is sent stands in the log.
package live

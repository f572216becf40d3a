// Package quantity is the one register of what Lampassay can say about a lamp.
//
// Every quantity exists here once, with its key, symbol, name, unit, the clause
// that defines it, how it is rounded for reading and when it means anything.
// The terminal, JSON, the sheet, figures, comparisons and the documentation all
// read this register; none of them keeps a list of its own.
//
// Keys are snake case and do not change once published.
package quantity

// Package simulate plays instruments that are not there, for learning, for trying
// a set-up and for tests: a power meter that answers SCPI over TCP, a light meter
// that sends lines to a serial port (a pseudo-terminal), and a spectrometer's
// program that drops files into a folder.
//
// They speak over real sockets, terminals and files, so whoever reads them cannot
// tell. All three look at one [Stage]: an invented lamp ([Lamp]) that was
// switched on at a moment and burns faster than time if wished. Each behaves as
// the real ones do on a bad day, too ([Stage.Faults]).
package simulate

// Package temporal says what a lamp does with time: how its light and its power
// settle after switch-on, and what interrupts them.
//
// Readings in time are a [Trace]: finite values at increasing seconds, a
// straight line between them and nothing beyond. A [Criterion] is a rule for
// calling a lamp stable, and looks at light and power together, since either
// can stand still while the other drifts. [Analyse] gives the times of a
// run-up, all reckoned from the stabilised output, and [Predict] how long a lamp
// that has not settled may still need.
//
// # Stabilised output
//
// Times "to 80 %" mean nothing before there is a hundred per cent. It is the
// mean light over the criterion's window at the end of the record, and exists
// only where the criterion holds there. A lamp that is still drifting has no
// run-up times yet, and the answer says which of its two traces drifts, by how
// much.
//
// # What is from where
//
// The numbers of the criteria are those of LM-79 and EN 13032-4 as commonly
// quoted, written down from memory; they are fields, to be edited. That what is
// left of a run-up is a sum of exponentials is a model (bodies that warm and cool,
// a vapour over a warming metal). How many, and how much doubt there is beyond the
// record, is told by the record; the readings' own scatter is reckoned with. How
// often the interval holds, for lamps that the model does not know as well, is
// measured and in docs/method/runup.md.
package temporal

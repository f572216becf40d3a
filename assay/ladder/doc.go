// Package ladder places a lamp between what it is and what physics allows, in
// lumens per watt.
//
//	683 lm/W   a line at 555 nm, where the eye is most sensitive
//	408 lm/W   the best white of this colour with this Ra
//	324 lm/W   this lamp's own spectrum, if every watt became radiation
//	115 lm/W   what it gives per watt at its terminals
//	 98 lm/W   what it gives per watt at the mains
//
// Each rung says what was lost on the way down from the rung above, and what it
// rests on: a definition, a computation, a measurement, or an assumption of the
// user's, which is marked. A rung that was not measured has no figure and says
// what is missing; the loss of the rung below it is then that of both.
//
// # What the second rung is
//
// White light is compared with the best white of its own chromaticity and at
// least its own Ra. Light of a single colour can be no white: its limit is a
// line at its dominant wavelength λ, 683·V(λ). Other coloured light has the best
// light of its chromaticity, whatever that does to colours.
package ladder

// Package validation is the register of published and defined values that the
// program can be held against: the same rows stand behind "lampassay
// selfcheck", docs/validation.md and a test.
//
// Every row computes its figure anew, with the code that computes a lamp's, and
// compares it with what a publication says, within a tolerance that covers the
// rounding of the published figure and a fair choice of summation, not
// measurement. A row says what its expected value rests on ([Basis]): a value
// read in a publication is a stronger witness than one stated from memory, and
// a definition stronger than both.
package validation

// Package cli is Lampassay on the command line: parsing, the terminal view and
// the batch pipeline. It computes nothing itself.
//
// # Voice
//
// Results go to standard output, talk to standard error. What went wrong is one
// sentence, prefixed "lampassay:", lower case; where something would help, a
// second sentence says it. With --json every result is JSON.
//
// # Exit codes
//
//	0  done
//	1  the answer is no: a check of selfcheck failed, or inspect refuses a file
//	2  the input is wrong: a file, a value or an option
//	3  the machine failed: a disk, a pipe, or the run was interrupted
package cli

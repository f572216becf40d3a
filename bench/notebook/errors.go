package notebook

import (
	"errors"
	"fmt"
	"strings"
)

// Code is what a caller decides by.
type Code uint8

// The codes of an [Error].
const (
	Internal Code = iota // the machine or the program failed
	NotFound             // there is no such record
	Invalid              // what was given cannot be kept as it is
	Stale                // the record was changed in between
	Kept                 // it is of a kind that is never changed
	Locked               // another process writes in this notebook
	ReadOnly             // the notebook or its folder cannot be written
	Full                 // the disk is full
	Damaged              // the file is no notebook, or not whole
	Newer                // a later program made it
	Away                 // it is in the trash: what is in use only has to bring it back first
)

// Error is one sentence for a person and a code for the caller.
type Error struct {
	Code  Code
	Text  string // lower case, no stop
	Cause error
}

func (e *Error) Error() string { return "notebook: " + e.Text }

// Unwrap returns what lies behind the error.
func (e *Error) Unwrap() error { return e.Cause }

// Errorf makes an [Error]; a %w in the format becomes its cause. Of a cause that is an
// [Error] the text is taken, so that a sentence names no package within.
func Errorf(code Code, format string, args ...any) *Error {
	err := fmt.Errorf(format, args...)
	text, cause := err.Error(), errors.Unwrap(err)
	var ours *Error
	if errors.As(cause, &ours) {
		text = strings.Replace(text, ours.Error(), ours.Text, 1)
	}
	return &Error{Code: code, Text: text, Cause: cause}
}

// CodeOf returns the code of the first [Error] in err's chain, [Internal] where
// there is none.
func CodeOf(err error) Code {
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return Internal
}

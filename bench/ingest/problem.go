package ingest

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Problem is what is wrong with a file. Other errors of this package come from
// the reader it was given.
type Problem struct {
	File   string
	Line   int    // counted from 1; 0 where no single line is at fault
	Column string // the heading of the column at fault; empty where none is
	Found  string // what is there: “abc” where a wavelength should be
	Want   string // what would do

	kind error // what another reader would take, see [ErrSeries]; nil for none
}

// What a file is that another reader, or a calibration, is for: a [*Problem]
// unwraps to one of these.
var (
	ErrSeries  = errors.New("ingest: the file holds a series of spectra") // [ReadSeries] takes it
	ErrArchive = errors.New("ingest: the file is a zip archive")          // [Archive] takes it
	ErrPixels  = errors.New("ingest: the file counts pixels")             // Options.Axis turns them into nm
)

// Unwrap tells what other reader would take the file.
func (p *Problem) Unwrap() error { return p.kind }

// Error returns one sentence.
func (p *Problem) Error() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		fmt.Fprintf(&b, ", line %d", p.Line)
	}
	if p.Column != "" {
		fmt.Fprintf(&b, ", column %s", Quote(p.Column))
	}
	b.WriteString(": found " + p.Found)
	if p.Want != "" {
		b.WriteString("; " + p.Want)
	}
	return b.String()
}

// Quote sets a piece of a file in quotation marks, short and printable, so that
// a sentence stays a sentence whatever the file holds.
func Quote(s string) string {
	const limit = 40
	s = strings.Map(func(r rune) rune {
		if r == utf8.RuneError || !unicode.IsPrint(r) {
			return '·'
		}
		return r
	}, strings.TrimSpace(s))
	if utf8.RuneCountInString(s) > limit {
		s = string([]rune(s)[:limit]) + "…"
	}
	return "“" + s + "”"
}

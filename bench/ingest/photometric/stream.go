package photometric

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"lampassay/bench/ingest"
)

// token is a word of the body and the line it stands in.
type token struct {
	text string
	line int
}

// stream gives out the body's numbers. Numbers wrap freely over lines, so that
// lines mean nothing here. After its first error it gives zeros.
type stream struct {
	tokens []token
	at     int
	err    error
}

// tokenise cuts lines, the first of which has the given number, at blanks and,
// unless commas are decimal marks, at commas.
func tokenise(lines []string, first int, decimalComma bool) *stream {
	var s stream
	for i, line := range lines {
		words := strings.FieldsFunc(line, func(r rune) bool {
			return r == ' ' || r == '\t' || r == '\v' || r == '\f' || r == '\u00a0' || r == ',' && !decimalComma
		})
		for _, w := range words {
			if decimalComma {
				w = strings.Replace(w, ",", ".", 1)
			}
			s.tokens = append(s.tokens, token{w, first + i})
		}
	}
	return &s
}

// line returns where the stream stands.
func (s *stream) line() int {
	if len(s.tokens) == 0 {
		return 0
	}
	return s.tokens[min(s.at, len(s.tokens)-1)].line
}

func (s *stream) fail(line int, found, want string) {
	if s.err == nil {
		s.err = &ingest.Problem{Line: line, Found: found, Want: want}
	}
}

// number returns the next number; what names it in sentences.
func (s *stream) number(what string) float64 {
	if s.err != nil {
		return 0
	}
	if s.at == len(s.tokens) {
		s.fail(s.line(), "the end of the file where "+what+" should be", "the file is cut off, or a count in it is wrong")
		return 0
	}
	t := s.tokens[s.at]
	v, ok := parse(t.text)
	if !ok {
		s.fail(t.line, ingest.Quote(t.text)+" where "+what+" should be", "it has to be a number")
		return 0
	}
	s.at++
	return v
}

// parse reads a plain decimal number.
func parse(s string) (float64, bool) {
	if strings.Trim(s, "0123456789+-.eE") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && math.Abs(v) <= 1e15
}

// count returns the next number as an integer within limits; 37.0 is one.
func (s *stream) count(what string, low, high int) int {
	line := s.line()
	v := s.number(what)
	if s.err == nil && (v != math.Trunc(v) || v < float64(low) || v > float64(high)) {
		s.fail(line, fmt.Sprintf("%g where %s should be", v, what), fmt.Sprintf("it can be %d to %d", low, high))
	}
	if s.err != nil {
		return low
	}
	return int(v)
}

// positive returns the next number, which has to be above zero.
func (s *stream) positive(what string) float64 {
	line := s.line()
	v := s.number(what)
	if s.err == nil && v <= 0 {
		s.fail(line, fmt.Sprintf("%g where %s should be", v, what), "it has to be above zero")
	}
	return v
}

// numbers returns the next n numbers.
func (s *stream) numbers(what string, n int) []float64 {
	if s.err == nil && n > len(s.tokens)-s.at {
		// The first word among them that is no number says more than the end.
		for range len(s.tokens) - s.at + 1 {
			s.number(what)
		}
	}
	if s.err != nil {
		return nil
	}
	out := make([]float64, n)
	for i := range out {
		out[i] = s.number(what)
	}
	return out
}

// rising returns the next n numbers, each above the one before.
func (s *stream) rising(what string, n int) []float64 {
	from := s.at
	out := s.numbers("a "+what, n)
	for i := 1; i < len(out) && s.err == nil; i++ {
		if out[i] <= out[i-1] {
			s.fail(s.tokens[from+i].line, fmt.Sprintf("the %s %g° after %g°", what, out[i], out[i-1]), "angles have to rise")
		}
	}
	return out
}

// end checks what stands behind the last candela value.
func (s *stream) end(f *File) {
	if s.at == len(s.tokens) {
		return
	}
	t := s.tokens[s.at]
	if _, number := parse(t.text); number {
		s.fail(t.line, fmt.Sprintf("%d words behind the last candela value, the first %s", len(s.tokens)-s.at, ingest.Quote(t.text)), "a count of angles is wrong, or the file holds more than one table")
		return
	}
	f.warn("line %d and what follows, %s, is not part of the data", t.line, ingest.Quote(t.text))
}

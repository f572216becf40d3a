package photometric

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"lampassay/bench/ingest"
)

// maxBytes is the largest file that is read: a sphere at half a degree fills a
// tenth of it.
const maxBytes = 32 << 20

// firstLines name the editions from 1991 on.
var firstLines = map[string]Edition{
	"IESNA91": LM63of1991, "IESNA:LM-63-1995": LM63of1995, "IESNA:LM-63-2002": LM63of2002, "IES:LM-63-2019": LM63of2019,
}

// Read reads an LM-63 file. name is for sentences. The error is an
// [*ingest.Problem] where the file is at fault, and r's own otherwise.
func Read(name string, r io.Reader) (*File, error) {
	raw, sum, err := ingest.ReadWhole(name, r, maxBytes)
	if err != nil {
		return nil, err
	}
	f := &File{Name: name, SHA256: sum}
	if p := f.read(raw); p != nil {
		p.File = filepath.Base(name)
		return nil, p
	}
	return f, nil
}

func (f *File) read(raw []byte) *ingest.Problem {
	if len(raw) == 0 {
		return &ingest.Problem{Found: "nothing: the file is empty", Want: "an LM-63 file begins with its edition"}
	}
	text, encoding, problem := ingest.Decode(raw)
	if problem != nil {
		return problem
	}
	f.Encoding = encoding
	text, _, _ = bytes.Cut(text, []byte{0x1a}) // the end of a file, to CP/M and its heirs
	lines := strings.Split(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(string(text)), "\n")
	tilt, at, problem := f.head(lines)
	if problem != nil {
		return problem
	}
	body := lines[at:]
	f.Warnings = slices.Clip(f.Warnings)
	again := *f
	if problem = f.body(tokenise(body, at+1, false), tilt); problem == nil {
		return nil
	}
	// A comma is a delimiter in LM-63 but a decimal mark to some programs. Where
	// the text has no point and can be read so, it was meant so.
	if !strings.Contains(strings.Join(body, "\n"), ".") && strings.Contains(strings.Join(body, "\n"), ",") {
		if again.body(tokenise(body, at+1, true), tilt) == nil {
			again.warn("commas are read as decimal marks: as delimiters, which LM-63 takes them for, the file makes no sense")
			*f = again
			return nil
		}
	}
	return problem
}

// head reads the lines up to TILT= and returns what that says and the index of
// the line behind it.
func (f *File) head(lines []string) (tilt string, next int, problem *ingest.Problem) {
	f.Edition = LM63of1986
	begun := false
	for i, line := range lines {
		line = strings.TrimSpace(line)
		if value, ok := tiltLine(line); ok {
			f.checkKeywords()
			return value, i + 1, nil
		}
		if line == "" {
			continue
		}
		if !begun {
			begun = true
			first := strings.ToUpper(strings.ReplaceAll(line, " ", ""))
			if e, ok := firstLines[first]; ok {
				f.Edition = e
				continue
			}
			if strings.HasPrefix(first, "IES:LM-63") || strings.HasPrefix(first, "IESNA:LM-63") {
				f.Edition = LM63of2002
				f.warn("the edition %s is unknown and read as %s", ingest.Quote(line), f.Edition)
				continue
			}
		}
		f.keyword(line)
	}
	return "", 0, &ingest.Problem{Found: "no line that begins with TILT=", Want: "an LM-63 file has one between its labels and its numbers"}
}

// tiltLine reads TILT=NONE and the like, with spaces or without.
func tiltLine(line string) (string, bool) {
	if len(line) < 4 || !strings.EqualFold(line[:4], "TILT") {
		return "", false
	}
	value, ok := strings.CutPrefix(strings.TrimSpace(line[4:]), "=")
	return strings.TrimSpace(value), ok
}

// keyword keeps one line of the head.
func (f *File) keyword(line string) {
	name, text := "", line
	if end := strings.IndexByte(line, ']'); line[0] == '[' && end > 0 {
		name, text = strings.ToUpper(strings.TrimSpace(line[1:end])), strings.TrimSpace(line[end+1:])
	}
	if n := len(f.Keywords); name == "MORE" && n > 0 {
		f.Keywords[n-1].Text += "\n" + text
		return
	}
	f.Keywords = append(f.Keywords, Keyword{name, text})
}

// checkKeywords warns of what the edition requires and the file lacks.
func (f *File) checkKeywords() {
	required := []string{"TEST", "MANUFAC"}
	switch {
	case f.Edition == LM63of1986:
		required = nil
	case f.Edition >= LM63of2002:
		required = []string{"TEST", "TESTLAB", "ISSUEDATE", "MANUFAC"}
	}
	var lacks []string
	for _, name := range required {
		if _, ok := f.Keyword(name); !ok {
			lacks = append(lacks, "["+name+"]")
		}
	}
	if lacks != nil {
		f.warn("%s requires %s, which the file lacks", f.Edition, strings.Join(lacks, ", "))
	}
}

// body reads the numbers.
func (f *File) body(s *stream, tilt string) *ingest.Problem {
	err := f.numbers(s, tilt)
	var problem *ingest.Problem
	if errors.As(err, &problem) {
		return problem
	}
	return nil
}

// numbers reads everything behind TILT=, in the standard's order.
func (f *File) numbers(s *stream, tilt string) error {
	switch {
	case strings.EqualFold(tilt, "NONE"):
	case strings.EqualFold(tilt, "INCLUDE"):
		f.Tilt = new(Tilt)
		f.Tilt.Geometry = s.count("the lamp-to-luminaire geometry", 1, 3)
		n := s.count("the number of tilt angles", 1, len(s.tokens))
		f.Tilt.Angles = s.rising("tilt angle", n)
		f.Tilt.Factors = s.numbers("the factor of a tilt angle", n)
	case tilt == "":
		return &ingest.Problem{Line: s.line() - 1, Found: "TILT= and nothing behind it", Want: "write TILT=NONE, or INCLUDE with the angles below"}
	default:
		f.TiltFile = tilt
		f.warn("the tilt stands in another file, %s, which is not read", ingest.Quote(tilt))
	}
	f.Lamps = s.count("the number of lamps", 0, 1e6)
	f.Lumens = s.number("the lumens of a lamp")
	f.Absolute = f.Lumens < 0
	f.Multiplier = s.positive("the candela multiplier")
	vertical := s.count("the number of vertical angles", 1, len(s.tokens))
	horizontal := s.count("the number of horizontal angles", 1, len(s.tokens))
	f.Goniometry = Goniometry(s.count("the photometric type", 1, 3))
	metres := 1.0
	if s.count("the units of the dimensions", 1, 2) == 1 {
		metres = 0.3048 // the international foot, exactly
	}
	f.Width = s.number("the width") * metres
	f.Length = s.number("the length") * metres
	f.Height = s.number("the height") * metres
	f.BallastFactor = s.positive("the ballast factor")
	f.middle(s.number("the number after the ballast factor"))
	f.Watts = s.number("the input watts")
	f.Vertical = s.rising("vertical angle", vertical)
	f.Horizontal = s.rising("horizontal angle", horizontal)
	if s.err != nil {
		return s.err
	}
	if left := len(s.tokens) - s.at; vertical > left/horizontal {
		return &ingest.Problem{Line: s.line(), Found: fmt.Sprintf("%d candela values", left), Want: fmt.Sprintf("%d × %d angles need %d", vertical, horizontal, vertical*horizontal)}
	}
	negative := 0
	for range horizontal {
		plane := s.numbers("a candela value", vertical)
		for i, v := range plane {
			if v < 0 {
				negative++
			}
			plane[i] = v * f.Multiplier * f.BallastFactor * f.LampFactor
		}
		f.Candela = append(f.Candela, plane)
	}
	if negative > 0 {
		f.warn("%d candela values are negative and kept", negative)
	}
	if s.err == nil {
		s.end(f)
	}
	if s.err != nil {
		return s.err
	}
	return f.check()
}

// middle settles the number between ballast factor and watts, whose meaning
// changed twice.
func (f *File) middle(v float64) {
	f.LampFactor = 1
	switch {
	case f.Edition <= LM63of1991:
		f.LampFactor = v
		if v <= 0 {
			f.LampFactor = 1
			f.warn("the ballast-lamp photometric factor is %g and taken as 1", v)
		}
	case f.Edition < LM63of2019:
		if v != 1 {
			f.warn("the number kept for future use is %g and should be 1: it is not applied", v)
		}
	default:
		f.Generation = v
		if v < 1 || v >= 2 {
			f.warn("the file generation type %g is none of the standard's", v)
		}
	}
}

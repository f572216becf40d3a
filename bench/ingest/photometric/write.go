package photometric

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"lampassay/bench/ingest"
)

// lineWidth is where lines of numbers are folded: 1991 allowed 132 characters and
// 2002 more (from memory), and what is shorter suits every reader.
const lineWidth = 80

// Write writes a file in the edition of 2002 or 2019, absolute values without a
// tilt, so that [Read] gives the same angles and intensities back to the last bit.
// What is written is Keywords, Lamps, Lumens where not Absolute, Watts, the
// dimensions, Generation in the edition of 2019, and the table; the factors are 1,
// since Candela has them applied. It is stricter than Read: required keywords must
// be there, angles must begin and end where the standard has them, and the
// symmetry, where stated, must be the one that the horizontal angles mean.
func Write(w io.Writer, f *File) error {
	if err := f.writable(); err != nil {
		return fmt.Errorf("photometric: %w", err)
	}
	var b bytes.Buffer
	for line, edition := range firstLines {
		if edition == f.Edition {
			b.WriteString(line + "\r\n")
		}
	}
	for _, k := range f.Keywords {
		for i, text := range strings.Split(k.Text, "\n") {
			name := k.Name
			if i > 0 {
				name = "MORE"
			}
			b.WriteString(strings.TrimRight("["+name+"] "+text, " ") + "\r\n")
		}
	}
	b.WriteString("TILT=NONE\r\n")
	lumens, middle := f.Lumens, "1"
	if f.Absolute {
		lumens = -1
	}
	if f.Edition == LM63of2019 {
		middle = strconv.FormatFloat(f.Generation, 'f', 5, 64)
	}
	fmt.Fprintf(&b, "%d %s 1 %d %d %d 2 %s %s %s\r\n1 %s %s\r\n", f.Lamps, decimal(lumens), len(f.Vertical), len(f.Horizontal), f.Goniometry,
		decimal(f.Width), decimal(f.Length), decimal(f.Height), middle, decimal(f.Watts))
	fold(&b, f.Vertical)
	fold(&b, f.Horizontal)
	for _, plane := range f.Candela {
		fold(&b, plane)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// fold writes numbers in lines of a limited width.
func fold(b *bytes.Buffer, values []float64) {
	width := 0
	for i, v := range values {
		s := decimal(v)
		switch {
		case i == 0:
		case width+1+len(s) > lineWidth:
			b.WriteString("\r\n")
			width = 0
		default:
			b.WriteByte(' ')
			width++
		}
		b.WriteString(s)
		width += len(s)
	}
	b.WriteString("\r\n")
}

// decimal writes a number so that it is read back exactly, without an exponent
// where it can do without.
func decimal(v float64) string {
	if v != 0 && math.Abs(v) < 1e-6 {
		return strconv.FormatFloat(v, 'e', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

// writable says what keeps a file from being written.
func (f *File) writable() error {
	if f.Edition != LM63of2002 && f.Edition != LM63of2019 {
		return fmt.Errorf("%s is not written: the editions of 2002 and 2019 are", f.Edition)
	}
	if f.Tilt != nil || f.TiltFile != "" {
		return fmt.Errorf("a tilt is not written")
	}
	if err := f.checkNumbers(); err != nil {
		return err
	}
	if err := f.checkHead(); err != nil {
		return err
	}
	c := *f
	c.Warnings = nil
	var problem *ingest.Problem
	if err := c.check(); errors.As(err, &problem) {
		return fmt.Errorf("%s: %s", problem.Found, problem.Want)
	}
	c.checkKeywords()
	if len(c.Warnings) > 0 {
		return fmt.Errorf("%s", c.Warnings[0])
	}
	if f.Symmetry != "" && f.Symmetry != c.Symmetry {
		return fmt.Errorf("the symmetry is stated as %s, but horizontal angles from %g° to %g° mean %s", f.Symmetry, f.Horizontal[0], f.Horizontal[len(f.Horizontal)-1], c.Symmetry)
	}
	return nil
}

func (f *File) checkNumbers() error {
	if len(f.Vertical) == 0 || len(f.Horizontal) == 0 || len(f.Candela) != len(f.Horizontal) {
		return fmt.Errorf("%d vertical and %d horizontal angles have %d rows of intensities", len(f.Vertical), len(f.Horizontal), len(f.Candela))
	}
	if f.Lamps < 0 || f.Lamps > 1e6 || f.Goniometry < TypeC || f.Goniometry > TypeA {
		return fmt.Errorf("%d lamps in angles of type %s", f.Lamps, f.Goniometry)
	}
	if f.Edition == LM63of2019 && !(f.Generation >= 1 && f.Generation < 2) {
		return fmt.Errorf("the file generation type %g is none of LM-63-2019's", f.Generation)
	}
	if !f.Absolute && f.Lumens < 0 {
		return fmt.Errorf("%g lm per lamp", f.Lumens)
	}
	lists := append([][]float64{{f.Lumens, f.Watts, f.Width, f.Length, f.Height}, f.Vertical, f.Horizontal}, f.Candela...)
	for i, list := range lists {
		if i > 2 && len(list) != len(f.Vertical) {
			return fmt.Errorf("%d intensities at %d vertical angles", len(list), len(f.Vertical))
		}
		for k, v := range list {
			switch {
			case !(math.Abs(v) <= 1e15):
				return fmt.Errorf("%g among the numbers", v)
			case (i == 1 || i == 2) && k > 0 && v <= list[k-1]:
				return fmt.Errorf("the angle %g° after %g°: angles have to rise", v, list[k-1])
			}
		}
	}
	return nil
}

// checkHead holds keywords to what a reader can tell apart again.
func (f *File) checkHead() error {
	for _, k := range f.Keywords {
		plain := func(r rune) bool { return r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '_' }
		if k.Name == "" || k.Name == "MORE" || strings.ContainsFunc(k.Name, func(r rune) bool { return !plain(r) }) {
			return fmt.Errorf("the keyword [%s] is not one of capital letters", k.Name)
		}
		odd := strings.IndexFunc(k.Text, func(r rune) bool { return r != '\n' && (r < ' ' || r > '~') })
		if odd >= 0 {
			return fmt.Errorf("the text of [%s] holds %q, and LM-63 is plain ASCII", k.Name, []rune(k.Text[odd:])[0])
		}
		for _, line := range strings.Split(k.Text, "\n") {
			if len(line) > 200 || line != strings.TrimSpace(line) {
				return fmt.Errorf("the text of [%s] has a line of over 200 characters, or blanks at its ends", k.Name)
			}
		}
	}
	return nil
}

// Sphere returns the table of a type C file as rows over half-planes that stand
// for all directions under the file's symmetry. Where that mirrors across the plane
// from 90° to 270°, the other half is written out and the symmetry is none.
// ok is false for types A and B.
func (f *File) Sphere() (planes []float64, candela [][]float64, symmetry Symmetry, ok bool) {
	if f.Goniometry != TypeC {
		return nil, nil, "", false
	}
	planes, candela, symmetry = slices.Clone(f.Horizontal), slices.Clone(f.Candela), f.Symmetry
	if symmetry == Bilateral && planes[0] == 90 {
		symmetry = None
		for i, c := range f.Horizontal {
			if c > 90 && c < 270 {
				planes, candela = append(planes, 180-c), append(candela, f.Candela[i])
			}
		}
	}
	return planes, candela, symmetry, true
}

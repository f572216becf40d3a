package cli

import (
	"fmt"
	"io"
	"math"
	"os"
	"strings"

	"golang.org/x/term"

	"lampassay/light/colorimetry"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// The wavelengths the strip shows, nm.
const stripFrom, stripTo = 380.0, 780.0

// stripLine draws a lamp's strip in true colour: a cell per few nanometres in
// the colour of its wavelength, its light proportional to the largest sample in
// it, on the scale named behind it.
func stripLine(s *spectrum.Spectrum, width int) string {
	label := fmt.Sprintf(" %g–%g nm, full at the peak", stripFrom, stripTo)
	cells := width - len([]rune(label))
	power := make([]float64, cells)
	top := 0.0
	axis, values := s.Axis(), s.Values()
	step := (stripTo - stripFrom) / float64(cells)
	for c := range power {
		from := stripFrom + float64(c)*step
		power[c] = largestWithin(axis, values, from, from+step)
		top = max(top, power[c])
	}
	if !(top > 0) {
		return ""
	}
	o := standards.CIE1931()
	var b strings.Builder
	for c, p := range power {
		nm := stripFrom + (float64(c)+0.5)*step
		full := colorimetry.LightSwatch(colorimetry.XYZ{X: o.X.At(nm), Y: o.Y.At(nm), Z: o.Z.At(nm)})
		k := math.Pow(max(0, p/top), 1/2.2) // light to screen value
		fmt.Fprintf(&b, "\x1b[48;2;%d;%d;%dm ", int(float64(full.R)*k), int(float64(full.G)*k), int(float64(full.B)*k))
	}
	return b.String() + "\x1b[0m" + label
}

// largestWithin returns the largest value of the curve between two wavelengths:
// at samples within, and on the lines at the ends; 0 where nothing is covered.
func largestWithin(axis, values []float64, from, to float64) float64 {
	largest := 0.0
	at := func(nm float64) {
		for i := 1; i < len(axis); i++ {
			if axis[i-1] <= nm && nm <= axis[i] {
				f := (nm - axis[i-1]) / (axis[i] - axis[i-1])
				largest = max(largest, values[i-1]*(1-f)+values[i]*f)
				return
			}
		}
	}
	at(from)
	at(to)
	for i, l := range axis {
		if from <= l && l <= to {
			largest = max(largest, values[i])
		}
	}
	return largest
}

// wantColour decides whether to draw in colour.
func wantColour(choice string, out io.Writer) bool {
	switch choice {
	case "always":
		return true
	case "never":
		return false
	}
	return isTerminal(out) && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
}

func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

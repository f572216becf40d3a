package figure

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Emission is a spectrum with what makes it: its lines and bands named, once on
// a straight scale and once on a logarithmic one that shows what is faint.
type Emission struct {
	Wavelengths []float64 // nm, increasing
	Values      []float64 // in Unit
	// Noise is the standard deviation of each sample, in Unit; nil where the
	// curve, say a published table, has none to show.
	Noise    []float64
	Unit     string  // e.g. "W/nm"; empty for a relative curve
	AreaUnit string  // of a line's area, e.g. "W"; empty for a relative curve
	From, To float64 // range drawn, nm; both zero for 380 to 780
	Lines    []EmissionLine
	Bands    []EmissionBand
	Colours  Palette // nil for [SpectralColours]

	Title string // empty for how many lines are explained
	Note  string
}

// EmissionLine is a line as it was found.
type EmissionLine struct {
	Wavelength, U float64 // nm, and its standard uncertainty; not finite where that is not known
	Area          float64 // the spectrum's unit times nm
	Width         float64 // full width at half maximum, nm
	SNR           float64
	Symbol        string // "Hg"; empty where nothing explains it
	Emitter       string // "Hg I"
	Unresolved    bool   // several known lines seen as one
	Note          string // for the table
}

// EmissionBand is a feature wider than a line.
type EmissionBand struct {
	Name          string
	Centre, Width float64 // nm; the width NaN for the continuum of a hot body
	Area          float64 // the spectrum's unit times nm
	Note          string  // for the table
}

// Unexplained stands where a symbol would: on a line that nothing explains.
const Unexplained = "?"

// label names a line on the picture.
func (l *EmissionLine) label() string {
	s := l.name()
	if l.Unresolved {
		s += " unresolved"
	}
	return s
}

// name is the symbol and the wavelength, as well as it is known and to a tenth
// at best.
func (l *EmissionLine) name() string {
	return cmp.Or(l.Symbol, Unexplained) + " " + fixed(l.Wavelength, min(l.places(), 1))
}

// places are the decimals that a wavelength's uncertainty leaves.
func (l *EmissionLine) places() int {
	if !(l.U > 0) || math.IsInf(l.U, 0) {
		return 2
	}
	return min(max(1-int(math.Floor(math.Log10(l.U))), 0), 2)
}

// cells is a line's row in a table.
func (l *EmissionLine) cells() []string {
	n := l.places()
	u := fixed(l.U, n)
	switch {
	case !finite(l.U):
		u = "not known"
	case strings.Trim(u, "0.") == "":
		u = "<0.01"
	}
	return []string{fixed(l.Wavelength, n), u, significant(l.Area, 3), significant(l.Width, 3),
		fixed(l.SNR, 0), cmp.Or(l.Emitter, "not explained"), l.Note}
}

func (l *EmissionLine) check(figure string) error {
	if !finite(l.Wavelength, l.Area, l.Width, l.SNR) || l.Width <= 0 {
		return fmt.Errorf("figure: %s: the line at %g nm has a figure that is no finite number, or no width", figure, l.Wavelength)
	}
	return nil
}

// Picture checks the data and returns the picture.
func (e Emission) Picture() (*Picture, error) {
	e.From, e.To = visibleUnless(e.From, e.To)
	if err := checkCurve("emission", e.Wavelengths, e.Values); err != nil {
		return nil, err
	}
	if e.Noise != nil && (len(e.Noise) != len(e.Values) || !finite(e.Noise...)) {
		return nil, fmt.Errorf("figure: emission: the noise is not one finite number for each of %d samples", len(e.Values))
	}
	if _, _, _, ok := extreme(e.Wavelengths, e.Values, e.From, e.To); !ok {
		return nil, fmt.Errorf("figure: emission: no sample lies from %g nm to %g nm", e.From, e.To)
	}
	for i := range e.Lines {
		if err := e.Lines[i].check("emission"); err != nil {
			return nil, err
		}
	}
	for _, b := range e.Bands {
		if !finite(b.Centre, b.Area) || b.Width <= 0 {
			return nil, fmt.Errorf("figure: emission: %s has no place, area or width", b.Name)
		}
	}
	if e.Colours == nil {
		e.Colours = SpectralColours
	}
	p := &Picture{
		Name:    "emission",
		Title:   cmp.Or(e.Title, e.says()),
		Alt:     e.describe(),
		Note:    joinNotes(e.Note, e.legend()),
		Columns: []string{"wavelength / nm", "± / nm", "area" + over(e.AreaUnit), "width / nm", "SNR", "emitter", "note"},
		drawing: e,
	}
	for i := range e.Lines {
		p.Rows = append(p.Rows, e.Lines[i].cells())
	}
	for _, b := range e.Bands {
		width := "whole range"
		if !math.IsNaN(b.Width) {
			width = fixed(b.Width, 0)
		}
		p.Rows = append(p.Rows, []string{fixed(b.Centre, 0), "", significant(b.Area, 3), width, "", b.Name, b.Note})
	}
	if len(p.Rows) == 0 {
		p.Rows = [][]string{{"none", "", "", "", "", "", "no line and no band was found"}}
	}
	return p, nil
}

// over is a unit behind the name of a column.
func over(unit string) string {
	if unit == "" {
		return ", relative"
	}
	return " / " + unit
}

func (e *Emission) says() string {
	if len(e.Lines) == 0 {
		return fmt.Sprintf("No lines; %d %s", len(e.Bands), plural(len(e.Bands), "band", "bands"))
	}
	known := 0
	for _, l := range e.Lines {
		if l.Symbol != "" {
			known++
		}
	}
	return fmt.Sprintf("%d of %d %s explained", known, len(e.Lines), plural(len(e.Lines), "line", "lines"))
}

// describe says in words what the picture shows: the lines by strength, and
// every band.
func (e *Emission) describe() string {
	const most = 24
	s := fmt.Sprintf("Annotated spectrum from %g to %g nm on a straight and a logarithmic scale. ", e.From, e.To)
	if len(e.Lines) == 0 {
		s += "No line stands out."
	} else {
		names := []string{}
		for _, l := range byArea(e.Lines) {
			names = append(names, l.label())
		}
		s += fmt.Sprintf("%d %s, strongest first, in nm: %s", len(names), plural(len(names), "line", "lines"),
			strings.Join(names[:min(len(names), most)], ", "))
		if len(names) > most {
			s += fmt.Sprintf(" and %d fainter ones", len(names)-most)
		}
		s += "."
	}
	for i, b := range e.Bands {
		if i == 0 {
			s += " Bands: "
		} else {
			s += "; "
		}
		s += fmt.Sprintf("%s near %s nm", b.Name, fixed(b.Centre, 0))
	}
	if len(e.Bands) > 0 {
		s += "."
	}
	return s
}

// legend explains the signs that are in use.
func (e *Emission) legend() string {
	var s []string
	if slices.ContainsFunc(e.Lines, func(l EmissionLine) bool { return l.Symbol == "" }) {
		s = append(s, "“"+Unexplained+"” stands on a line that nothing here explains.")
	}
	if slices.ContainsFunc(e.Lines, func(l EmissionLine) bool { return l.Unresolved }) {
		s = append(s, "Unresolved: several known lines that this instrument shows as one.")
	}
	if len(e.Lines) > 0 {
		s = append(s, "A line without room for its name has a tick in the logarithmic half and its row in the table.")
	}
	return strings.Join(append(s, stripNote), " ")
}

// byArea returns lines with the strongest first.
func byArea(lines []EmissionLine) []EmissionLine {
	list := slices.Clone(lines)
	slices.SortStableFunc(list, func(a, b EmissionLine) int { return cmp.Compare(b.Area, a.Area) })
	return list
}

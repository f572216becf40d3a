package sheet

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"lampassay/light/emission"
	"lampassay/light/spectrum"
	"lampassay/publish/figure"
)

// emissionView is the section on what makes a light.
type emissionView struct {
	Family      explained
	Pictures    []picture
	Emitters    []explained
	Lines       lineTable
	Bands       []explained
	Unexplained string
	Warnings    []string
}

// explained is something that was recognised, with how sure that is and why.
type explained struct {
	Name, Role  string
	Word, Score string // "certain" and "0.99"; empty for what has no score
	Reasons     []string
	Others      []string // what else it might be
}

// lineTable is the lines of a spectrum. Its columns are those of the picture's
// own table.
type lineTable struct {
	AreaUnit   string
	AreaPlaces int // decimals of the areas, so that their column can be aligned
	Rows       []lineRow
	Folded     bool // too long to stand open
}

type lineRow struct {
	Nm, U, Area, Width, SNR number
	Emitter, Note           string
}

// openLines is how many lines a table shows to those who have not asked.
const openLines = 20

// A score is said in a word as well. The limits are judgement, and the page
// gives them.
const (
	certainFrom = 0.95
	likelyFrom  = 0.75
)

func scored(score float64) (word, number string) {
	word = "possible"
	switch {
	case score >= certainFrom:
		word = "certain"
	case score >= likelyFrom:
		word = "likely"
	}
	// Cut off, not rounded: a word and its number never contradict each other.
	return word, fmt.Sprintf("%.2f", math.Floor(100*score+1e-9)/100)
}

// elementNames are the emitters that the analysis knows.
var elementNames = map[string]string{
	"Ar": "Argon", "Ba": "Barium", "Ca": "Calcium", "Cd": "Cadmium", "Cs": "Caesium", "Eu³⁺": "Trivalent europium",
	"Ga": "Gallium", "H": "Hydrogen", "He": "Helium", "Hg": "Mercury", "In": "Indium", "K": "Potassium", "Kr": "Krypton",
	"Li": "Lithium", "Mn⁴⁺": "Tetravalent manganese", "Na": "Sodium", "Ne": "Neon", "Rb": "Rubidium", "Sc": "Scandium",
	"Sr": "Strontium", "Tb³⁺": "Trivalent terbium", "Tl": "Thallium", "Xe": "Xenon", "Zn": "Zinc",
}

// newEmission arranges what an analysis found; nil where there was none.
func newEmission(l *Lamp) (*emissionView, error) {
	r := l.Emission
	if r == nil {
		return nil, nil
	}
	v := &emissionView{Family: familyOf(r), Warnings: allSaid(r.Warnings)}
	curve, err := annotated(l)
	if err != nil {
		return nil, err
	}
	var g gallery
	g.hang(full, curve, nil)
	if slices.ContainsFunc(r.Lines, func(line emission.Line) bool { return line.Area > 0 }) {
		p, err := stems(l)
		g.hang(full, p, err)
	} else {
		g.miss("No lines to share the energy out among", "No line stands out of this spectrum.")
	}
	v.Pictures = g.pictures
	for i := range r.Elements {
		v.Emitters = append(v.Emitters, emitterOf(&r.Elements[i]))
	}
	v.Lines = linesOf(l, curve)
	v.Bands = bandsOf(r)
	v.Unexplained = unexplained(r)
	return v, g.err
}

func familyOf(r *emission.Result) explained {
	e := explained{Name: capital(r.Family.Name), Reasons: allSaid(r.Family.Reasons)}
	if r.Family.Key == emission.FamilyUnknown {
		e.Name = "No kind of lamp is named"
	} else {
		e.Word, e.Score = scored(r.Family.Score)
	}
	for _, a := range r.Family.Alternatives {
		_, number := scored(a.Score)
		e.Others = append(e.Others, a.Name+" ("+number+")")
	}
	return e
}

func emitterOf(e *emission.Element) explained {
	x := explained{Name: e.Spectrum, Role: e.Role, Reasons: allSaid(e.Reasons), Others: allSaid(e.Alternatives)}
	if name, known := elementNames[e.Symbol]; known {
		x.Name = name + ", " + e.Spectrum
	}
	x.Word, x.Score = scored(e.Score)
	return x
}

// bandsOf lists the bands, those of one name together: each one's place and
// share, then what else speaks for the name.
func bandsOf(r *emission.Result) (list []explained) {
	further := map[string][]string{}
	for i := range r.Bands {
		b := &r.Bands[i]
		name := capital(bandName(b))
		k := slices.IndexFunc(list, func(e explained) bool { return e.Name == name })
		if k < 0 {
			k = len(list)
			list = append(list, explained{Name: name})
		}
		for n, reason := range b.Reasons {
			switch {
			case n == 0:
				list[k].Reasons = append(list[k].Reasons, said(fmt.Sprintf("%s; %s of the power", reason, percent(b.Share))))
			case !slices.Contains(further[name], said(reason)):
				further[name] = append(further[name], said(reason))
			}
		}
	}
	for k := range list {
		list[k].Reasons = append(list[k].Reasons, further[list[k].Name]...)
	}
	return list
}

var hyphenMinus = regexp.MustCompile(`(^|[ (])-(\d)`)

// said makes a sentence of a clause, with true minus signs and with its numbers
// and units kept together.
func said(clause string) string {
	return tied(hyphenMinus.ReplaceAllString(sentence(clause), "$1−$2"))
}

func allSaid(clauses []string) []string {
	out := make([]string, len(clauses))
	for i, c := range clauses {
		out[i] = said(c)
	}
	return out
}

// bandName is a band's name with its temperature, where it has one.
func bandName(b *emission.Band) string {
	if math.IsNaN(b.Temperature) {
		return b.Name
	}
	return fmt.Sprintf("%s, %.0f K", b.Name, b.Temperature)
}

// annotated prepares the spectrum with its lines and bands named.
func annotated(l *Lamp) (*figure.Picture, error) {
	r := l.Emission
	from, to := rangeOfInterest(l)
	e := figure.Emission{
		Wavelengths: l.Spectrum.Axis(), Values: l.Spectrum.Values(), From: from, To: to,
		AreaUnit: areaUnit(l.Spectrum.Quantity()), Lines: figureLines(r), Title: annotatedTitle(r),
	}
	if q := l.Spectrum.Quantity(); q.Absolute() {
		e.Unit = q.Unit()
	}
	if l.Result.Kind == spectrum.Sampled {
		e.Noise = r.Noise
	} else {
		e.Note = "A table has no noise of its own to show."
	}
	if from > l.Result.From || to < l.Result.To {
		e.Note = joined(fmt.Sprintf("The spectrum covers %s to %s nm; what is not drawn has no line and no band.", nm(l.Result.From), nm(l.Result.To)), e.Note)
	}
	for i := range r.Bands {
		b := &r.Bands[i]
		e.Bands = append(e.Bands, figure.EmissionBand{Name: bandName(b), Centre: b.Centre, Width: b.Width, Area: b.Area, Note: "band"})
	}
	return e.Picture()
}

// rangeOfInterest is what the pictures show of the covered range: the visible,
// and all that was found beyond it.
func rangeOfInterest(l *Lamp) (from, to float64) {
	const margin = 15 // nm
	from, to = 380, 780
	reach := func(a, b float64) { from, to = min(from, a), max(to, b) }
	for _, line := range l.Emission.Lines {
		reach(line.Centre-margin, line.Centre+margin)
	}
	for _, b := range l.Emission.Bands {
		if math.IsNaN(b.Width) {
			return l.Result.From, l.Result.To
		}
		reach(b.Centre-b.Width, b.Centre+b.Width)
	}
	// A little more that is covered is not worth cutting off.
	if from-l.Result.From < 2*margin {
		from = l.Result.From
	}
	if l.Result.To-to < 2*margin {
		to = l.Result.To
	}
	if to <= from { // nothing of the visible is covered
		return l.Result.From, l.Result.To
	}
	return from, to
}

// stems prepares the energy in the lines.
func stems(l *Lamp) (*figure.Picture, error) {
	from, to := rangeOfInterest(l)
	s := figure.Stems{Lines: figureLines(l.Emission), AreaUnit: areaUnit(l.Spectrum.Quantity()), From: from, To: to}
	for _, b := range l.Emission.Bands {
		if b.Kind == emission.KindReversedD {
			s.Note = "The self-reversed D lines are a band here, and not among the stems."
		}
	}
	return s.Picture()
}

func figureLines(r *emission.Result) []figure.EmissionLine {
	var all []figure.EmissionLine
	for i := range r.Lines {
		line := &r.Lines[i]
		f := figure.EmissionLine{
			Wavelength: line.Centre, U: line.CentreU, Area: line.Area, Width: line.Width, SNR: line.SNR,
			Emitter: line.Emitter, Unresolved: line.Unresolved != "", Note: lineNote(line),
		}
		if e := r.Element(line.Emitter); e != nil {
			f.Symbol = e.Symbol
		}
		all = append(all, f)
	}
	return all
}

// lineNote says what is known of a line beyond its figures.
func lineNote(l *emission.Line) string {
	var notes []string
	switch {
	case l.Unresolved != "":
		notes = append(notes, l.Unresolved)
	case len(l.Laboratory) == 1 && !strings.Contains(l.Emitter, "⁺"):
		notes = append(notes, fmt.Sprintf("tabulated at %.2f nm", l.Laboratory[0].Nm))
	}
	if l.Broad {
		notes = append(notes, "wider than the instrument")
	}
	return strings.Join(notes, "; ")
}

func annotatedTitle(r *emission.Result) string {
	if len(r.Lines) == 0 {
		switch n := len(r.Bands); {
		case n == 0:
			return "Nothing stands out of this spectrum"
		case r.Bands[0].Kind == emission.KindHotBody:
			return "A continuum without lines"
		case n == 1:
			return "One band, and no line"
		default:
			return fmt.Sprintf("%d bands, and no line", n)
		}
	}
	var names []string
	for _, e := range r.Elements {
		name, known := elementNames[e.Symbol]
		if !known {
			name = e.Symbol
		}
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	total := len(r.Lines)
	explained := total - len(r.Unexplained())
	lines := "lines"
	if total == 1 {
		lines = "line"
	}
	switch {
	case len(names) == 0 || explained == 0:
		return fmt.Sprintf("%d %s that nothing here explains", total, lines)
	case len(names) > 3:
		return fmt.Sprintf("%d emitters explain %d of %d %s", len(names), explained, total, lines)
	}
	verb := "explain"
	if len(names) == 1 {
		verb = "explains"
	}
	return capital(strings.ToLower(listed(names))) + fmt.Sprintf(" %s %d of %d %s", verb, explained, total, lines)
}

// linesOf reads the lines back from the rows of their picture, so that both are
// written alike.
func linesOf(l *Lamp, p *figure.Picture) lineTable {
	t := lineTable{AreaUnit: areaUnit(l.Spectrum.Quantity()), Folded: len(l.Emission.Lines) > openLines}
	for _, row := range p.Rows[:len(l.Emission.Lines)] {
		area := split(row[2])
		if !strings.Contains(row[2], "×") {
			t.AreaPlaces = min(max(t.AreaPlaces, area.places()), 5)
		}
		t.Rows = append(t.Rows, lineRow{split(row[0]), split(row[1]), area, split(row[3]), split(row[4]), row[5], row[6]})
	}
	return t
}

// unexplained names the lines that no emitter accounts for, "" where there is
// none.
func unexplained(r *emission.Result) string {
	var all []string
	for _, line := range r.Unexplained() {
		all = append(all, nm(line.Centre))
	}
	switch n := len(all); n {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("Nothing here explains the line at %s nm.", all[0])
	default:
		return fmt.Sprintf("Nothing here explains %d lines: those at %s nm.", n, listed(all))
	}
}

// areaUnit is the unit of a line's area, "" where the spectrum has no scale.
func areaUnit(q spectrum.Quantity) string {
	switch q {
	case spectrum.Flux:
		return "W"
	case spectrum.Irradiance:
		return "W/m²"
	case spectrum.Radiance:
		return "W/(m²·sr)"
	case spectrum.Intensity:
		return "W/sr"
	}
	return ""
}

func percent(share float64) string {
	if share > 0 && share < 0.01 {
		return "less than 1 %"
	}
	return fmt.Sprintf("%.0f %%", 100*share)
}

// listed joins words as a sentence does.
func listed(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}

func capital(s string) string { return strings.TrimSuffix(sentence(s), ".") }

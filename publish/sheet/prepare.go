package sheet

import (
	"fmt"
	"html/template"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/light/photometry"
	"lampassay/publish/figure"
)

// drawing is an inline SVG element.
type drawing = template.HTML

// picture is a figure as the page shows it, or the reason there is none.
type picture struct {
	Title, Note string
	Absent      string
	Full        bool // across the page rather than in one of its two columns
	Drawings    []sized
	Columns     []string
	Rows        [][]string

	source *figure.Picture // nil where it is absent
}

// Design widths: half of the page's measure, all of it, and all of it with
// smaller lettering.
const (
	half  = figure.Narrow
	full  = figure.Wide
	dense = 904
)

// sized is a drawing laid out for a class of screen: "for-wide", "for-narrow",
// or "" for any.
type sized struct {
	Class string
	SVG   drawing
}

// absent is the picture that is not there.
func absent(title, why string) picture { return picture{Title: title, Absent: why} }

// laid sets a picture on the page. A half stands in one of the two columns,
// which are about as wide as a telephone. Anything wider goes across, and is
// drawn once more for a telephone, so that its lettering is never scaled down.
func laid(p *figure.Picture, width int) (picture, error) {
	out := picture{Title: tied(p.Title), Note: tied(p.Note), Full: width != half, Columns: p.Columns, Rows: p.Rows, source: p}
	narrow, err := inline(p.At(half))
	if err != nil || !out.Full {
		out.Drawings = []sized{{"", narrow}}
		return out, err
	}
	wide, err := inline(p.At(width))
	out.Drawings = []sized{{"for-wide", wide}, {"for-narrow", narrow}}
	return out, err
}

// inline returns a picture as an element of the page. It is this program's own
// drawing with every text escaped, so it may stand as it is.
func inline(p *figure.Picture) (drawing, error) {
	var b strings.Builder
	if err := p.SVG(&b, figure.Page); err != nil {
		return "", err
	}
	return drawing(b.String()), nil
}

// strip draws a lamp's strip, width by height design pixels.
func strip(l *Lamp, width int, height float64) (drawing, error) {
	s := stripOf(l)
	s.Height = height
	p, err := s.Picture()
	if err != nil {
		return "", err
	}
	p.Alt = l.name() + ". " + p.Alt
	return inline(p.At(width))
}

func stripOf(l *Lamp) figure.Strip {
	return figure.Strip{Wavelengths: l.Spectrum.Axis(), Values: l.Spectrum.Values(), Colours: figure.SpectralColours}
}

// spectralPower prepares the curve over all that the spectrum covers.
func spectralPower(l *Lamp) (*figure.Picture, error) {
	r := l.Result
	s := figure.SpectralPower{
		Wavelengths: l.Spectrum.Axis(), Values: l.Spectrum.Values(),
		Colours: figure.SpectralColours, From: r.From, To: r.To,
	}
	if q := l.Spectrum.Quantity(); q.Absolute() {
		s.Unit = q.Unit()
	}
	if _, ok := r.Value(quantity.FWHM); ok {
		s.Title = fmt.Sprintf("Strongest at %s nm, %s nm wide at half height",
			reading(r, quantity.PeakWavelength), reading(r, quantity.FWHM))
	}
	return s.Picture()
}

// chromaticity prepares the point of a lamp that has one.
func chromaticity(l *Lamp) (*figure.Picture, error) {
	r := l.Result
	p := figure.ChromaticityPoint{Name: l.name(), Colour: ownColour(r)}
	p.U, _ = r.Value(quantity.UPrime)
	p.V, _ = r.Value(quantity.VPrime)
	p.Spread = chromaticSpread(r)
	if cct, ok := r.Value(quantity.CCT); ok {
		p.CCT = cct
		p.Duv, _ = r.Value(quantity.Duv)
	}
	return figure.Chromaticity{Points: []figure.ChromaticityPoint{p}}.Picture()
}

// colourVector prepares the colour vector graphic of a lamp that has an Rf.
func colourVector(l *Lamp) (*figure.Picture, error) {
	r := l.Result
	c := figure.ColourVector{Note: outsideNote(l, quantity.Rf), Chroma: &r.TM30.RcsH,
		Title: "Rg " + reading(r, quantity.Rg) + ": hue by hue against the reference",
		Rf:    reading(r, quantity.Rf), Rg: reading(r, quantity.Rg),
		CCT: withUnit(reading(r, quantity.CCT), "K"), Duv: reading(r, quantity.Duv)}
	for h, t := range r.TM30.VectorTest {
		ref := r.TM30.VectorReference[h]
		c.Test[h] = figure.ABPoint{A: t.A, B: t.B}
		c.Reference[h] = figure.ABPoint{A: ref.A, B: ref.B}
	}
	return c.Picture()
}

// localChroma prepares the hue bins of a lamp that has an Rf.
func localChroma(l *Lamp) (*figure.Picture, error) {
	t := &l.Result.TM30
	return figure.LocalChroma{Chroma: t.RcsH, Note: outsideNote(l, quantity.Rf)}.Picture()
}

// renderingIndices prepares R1 to R14 of a lamp that has an Ra.
func renderingIndices(l *Lamp) (*figure.Picture, error) {
	c := &l.Result.CRI
	return figure.RenderingIndices{General: c.Ra, Special: c.R[:], Scope: outside(l, quantity.Ra)}.Picture()
}

// outside returns why a value is outside its method's scope, without the words
// that say that it is; "" within.
func outside(l *Lamp, id quantity.ID) string {
	if _, ok := l.Result.Value(id); !ok || l.Result.InScope(id) {
		return ""
	}
	return strings.TrimPrefix(l.Result.Why(id), "outside the method's scope: ")
}

func outsideNote(l *Lamp, id quantity.ID) string {
	if why := outside(l, id); why != "" {
		return "Outside the method's scope: " + why + "."
	}
	return ""
}

// swatches prepares, for each hue bin, the sample that the lamp shows least
// faithfully; nil where none can be shown.
func swatches(l *Lamp) (*figure.Picture, error) {
	t := &l.Result.TM30
	worst := map[uint8]int{}
	for i, h := range t.Bin {
		if w, seen := worst[h]; !seen || t.RfCES[i] < t.RfCES[w] {
			worst[h] = i
		}
	}
	s := figure.Swatches{
		Title: "The least faithful sample of each hue, under this lamp and under its reference",
		Note:  joined(outsideNote(l, quantity.Rf), "Samples of CIE 224:2017, shown with the appearance CIECAM02 gives them."),
	}
	for h := range quantity.HueBins {
		i, ok := worst[uint8(h)]
		if !ok {
			continue
		}
		lamp, ok1 := screenColour(t.Test[i])
		reference, ok2 := screenColour(t.Reference[i])
		if ok1 && ok2 {
			s.Pairs = append(s.Pairs, figure.SwatchPair{
				Name: fmt.Sprintf("h%d, CES %d", h+1, i+1), Value: reading(l.Result, quantity.RfSample(i+1)),
				Lamp: lamp, Reference: reference})
		}
	}
	if len(s.Pairs) == 0 {
		return nil, nil
	}
	return s.Picture()
}

// joined puts sentences beside one another.
func joined(sentences ...string) string {
	return strings.TrimSpace(strings.Join(sentences, " "))
}

// whereWattsGo prepares the bar of a lamp whose watts are known, or says why
// its parts are no parts of a whole.
func whereWattsGo(l *Lamp) (p *figure.Picture, whyNot string, err error) {
	w, r := &l.Result.Watts, l.Result
	rounding := 1e-9 * w.Total // what the subtractions behind the parts may leave
	noise := 5e-3 * w.Total    // what dark subtraction may leave of a part that is nothing
	switch {
	case w.Rest < -rounding:
		return nil, "with the flux and the power given the lamp would radiate more than it takes in", nil
	case w.Other < -noise || w.Light < -noise:
		return nil, "the spectrum sums to less than zero in a part of its range, and less than nothing cannot be drawn", nil
	}
	end := "at the mains"
	if w.AtLamp {
		end = "at the lamp"
	}
	rest := "heat, gear and what the spectrum does not cover"
	if w.Gear > 0 {
		rest = "heat of the lamp and what the spectrum does not cover"
	}
	bar := figure.WhereWattsGo{Note: "The whole is the power " + end + "."}
	add := func(kind figure.WattKind, name string, watts float64) {
		if watts > rounding {
			text := quantity.Get(quantity.RadiantFlux).Format(watts)
			bar.Parts = append(bar.Parts, figure.WattPart{Kind: kind, Name: name, Watts: watts, Text: text})
		}
	}
	add(figure.WattLight, "visible light, 380–780 nm", w.Light)
	add(figure.WattOther, fmt.Sprintf("other radiation, within %s–%s nm", nm(r.From), nm(r.To)), w.Other)
	add(figure.WattGear, "lost in the gear, mains less lamp", w.Gear)
	add(figure.WattRest, rest, w.Rest)
	p, err = bar.Picture()
	return p, "", err
}

// efficacies prepares the dots of the lamps that have an efficacy at the mains;
// nil for none.
func efficacies(lamps []Lamp) (*figure.Picture, error) {
	var e figure.Efficacies
	var without []string
	uncertain := false
	for i := range lamps {
		l := &lamps[i]
		eta, ok := l.Result.Value(quantity.LuminousEfficacy)
		if !ok {
			without = append(without, l.name())
			continue
		}
		band := stripOf(l)
		ler, _ := l.Result.Value(quantity.LER)
		lamp := figure.LampEfficacy{Name: l.name(), Efficacy: eta, LER: ler, Strip: &band}
		lamp.Text = l.Result.Reading(quantity.LuminousEfficacy).Value
		if s := l.Result.Spread(quantity.LuminousEfficacy); s != nil {
			lamp.Expanded, uncertain = s.Expanded(), true
		}
		e.Lamps = append(e.Lamps, lamp)
	}
	if len(e.Lamps) == 0 {
		return nil, nil
	}
	e.Note = "Efficacy is that of the system, at the mains."
	if uncertain {
		e.Note += fmt.Sprintf(" Lines: expanded uncertainty, k = %d.", assay.CoverageFactor)
	}
	if groups := groupsOf(lamps, quantity.LuminousEfficacy); groups != "" {
		e.Note += " " + groups
	}
	if len(without) > 0 {
		e.Note += " Not drawn, without a value: " + strings.Join(without, "; ") + "."
	}
	return e.Picture()
}

// tooTall is how many times the median peak a spectrum may reach and still
// share a scale with the rest, which would be flat beside it.
const tooTall = 8

// multiples prepares the spectra on one scale, and on a scale of their own those
// that would flatten the others; nil where there are none.
func multiples(lamps []Lamp) (shared, tall *figure.Picture, err error) {
	var panels []figure.MultiplesPanel
	var peaks []float64
	var without []string
	for i := range lamps {
		l := &lamps[i]
		if _, ok := l.Result.Value(quantity.LER); !ok {
			without = append(without, l.name())
			continue
		}
		values := perLumen(l)
		panels = append(panels, figure.MultiplesPanel{Name: l.name(), Wavelengths: l.Spectrum.Axis(), Values: values})
		peaks = append(peaks, slices.Max(values))
	}
	ordered := slices.Sorted(slices.Values(peaks))
	const unit = "mW/nm per lumen"
	low, high := figure.Multiples{Normalisation: unit}, figure.Multiples{Normalisation: unit}
	var names []string
	for i, p := range panels {
		if peaks[i] > tooTall*ordered[(len(ordered)-1)/2] {
			high.Lamps, names = append(high.Lamps, p), append(names, p.Name)
		} else {
			low.Lamps = append(low.Lamps, p)
		}
	}
	if len(without) > 0 {
		low.Note = "Not drawn, since their light has no measure in lumens: " + strings.Join(without, "; ") + "."
	}
	if len(low.Lamps) > 0 {
		if shared, err = low.Picture(); err != nil {
			return nil, nil, err
		}
	}
	if len(high.Lamps) > 0 {
		high.Title = "Too tall for that scale, on one of its own: " + strings.Join(names, "; ")
		tall, err = high.Picture()
	}
	return shared, tall, err
}

// perLumen returns a spectrum in mW/nm for one lumen: its values over the
// result's own Y, whatever their scale.
func perLumen(l *Lamp) []float64 {
	k := 1000 / (photometry.Km * l.Result.XYZ.Y)
	scaled := make([]float64, l.Spectrum.Len())
	for i, v := range l.Spectrum.Values() {
		scaled[i] = k * v
	}
	return scaled
}

// nm writes a wavelength with no more than its tenths.
func nm(v float64) string { return strconv.FormatFloat(math.Round(10*v)/10, 'f', -1, 64) }

var loose = regexp.MustCompile(`(\d) (%|(?:nm|K|W|lm)\b)`)

// tied keeps a number and its unit on one line.
func tied(s string) string { return loose.ReplaceAllString(s, "$1\u00a0$2") }

package sheet

import (
	"fmt"
	"html/template"
	"image/color"
	"strings"
	"sync"

	"lampassay/assay/quantity"
	"lampassay/light/colorimetry"
	"lampassay/light/standards"
	"lampassay/publish/figure"
)

// drawing is an inline SVG element.
type drawing = template.HTML

// picture is a figure as the page shows it, or the reason there is none.
type picture struct {
	Title, Note string
	Absent      string
	Full        bool // across the whole width
	Drawings    []sized
	Columns     []string
	Rows        [][]string
}

// sized is a drawing laid out for a class of screen: "for-wide", "for-narrow",
// or "" for both.
type sized struct {
	Class string
	SVG   drawing
}

// Design widths of the page's two columns and of a figure across both.
const (
	fullWidth = 920
	halfWidth = 440
)

// full and half set a picture across the page or in one of its columns. Each
// is drawn twice, for a wide screen and for a telephone, so that its lettering
// is never scaled down.
func full(p *figure.Picture) (picture, error) { return laid(p, fullWidth, true) }
func half(p *figure.Picture) (picture, error) { return laid(p, halfWidth, false) }

func laid(p *figure.Picture, width int, across bool) (picture, error) {
	out := picture{Title: p.Title, Note: p.Note, Full: across, Columns: p.Columns, Rows: p.Rows}
	for _, s := range []struct {
		class string
		width int
	}{{"for-wide", width}, {"for-narrow", figure.Narrow}} {
		svg, err := inline(p.At(s.width))
		if err != nil {
			return picture{}, err
		}
		out.Drawings = append(out.Drawings, sized{s.class, svg})
	}
	return out, nil
}

// inline returns a picture as an element of the page. The drawing comes from
// this program with every text escaped, so it may stand as it is.
func inline(p *figure.Picture) (drawing, error) {
	var b strings.Builder
	if err := p.SVG(&b, figure.Page); err != nil {
		return "", err
	}
	return drawing(b.String()), nil
}

// strip draws a lamp's strip, width by height design pixels.
func strip(l *Lamp, width int, height float64) (drawing, error) {
	p, err := figure.Strip{
		Wavelengths: l.Spectrum.Axis(), Values: l.Spectrum.Values(),
		Colours: wavelengthColour, Height: height,
	}.Picture()
	if err != nil {
		return "", err
	}
	p.Alt = l.name() + ". " + p.Alt
	return inline(p.At(width))
}

// wavelengthColour is the display colour of a wavelength; transparent where the
// 2° observer has no response.
func wavelengthColour(nm float64) color.NRGBA {
	o := observer()
	c := colorimetry.XYZ{X: o.X.At(nm), Y: o.Y.At(nm), Z: o.Z.At(nm)}
	if c.Y <= 0 {
		return color.NRGBA{}
	}
	return colorimetry.LightSwatch(c)
}

var observer = sync.OnceValue(standards.CIE1931)

// spectralPower prepares the curve over all that the spectrum covers.
func spectralPower(l *Lamp) (picture, error) {
	r := l.Result
	s := figure.SpectralPower{
		Wavelengths: l.Spectrum.Axis(), Values: l.Spectrum.Values(),
		Colours: wavelengthColour, From: r.From, To: r.To,
	}
	if q := l.Spectrum.Quantity(); q.Absolute() {
		s.Unit = q.Unit()
	}
	if _, ok := r.Value(quantity.FWHM); ok {
		s.Title = fmt.Sprintf("Strongest at %s nm, %s nm wide at half height",
			reading(r, quantity.PeakWavelength), reading(r, quantity.FWHM))
	}
	p, err := s.Picture()
	if err != nil {
		return picture{}, err
	}
	return full(p)
}

func picturesOf(l *Lamp) ([]section, error) {
	p, err := spectralPower(l)
	if err != nil {
		return nil, err
	}
	return []section{{"light", "The light", []picture{p}}}, nil
}

func comparisonPictures(l []Lamp) ([]picture, error) { return nil, nil }

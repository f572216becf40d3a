package ingest

import (
	"bufio"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"lampassay/light/spectrum"
)

// TM27 is what an IES TM-27-14 file says beside the samples. Elements are kept
// in the file's order, known or not, so that writing gives them back.
type TM27 struct {
	Header       []Element // of Header: Manufacturer, CatalogNumber, Description, …
	Distribution []Element // of SpectralDistribution, without SpectralQuantity and SpectralData
	Other        []Element // beside these two
}

// Element is an XML element by its local name. Text is without outer spaces.
type Element struct {
	Name       string
	Attributes []Pair
	Text       string
	Children   []Element
}

const (
	tm27Root      = "IESTM2714"
	tm27Namespace = "http://www.ies.org/iestm2714"
	maxDepth      = 32
	maxElements   = 1 << 20
)

// tm27Quantities maps SpectralQuantity, whose values are known second-hand. The
// standard implies the units of absolute quantities; SI per nanometre is assumed
// (from memory).
var tm27Quantities = map[string]spectrum.Quantity{
	"relative": spectrum.Relative, "flux": spectrum.Flux, "irradiance": spectrum.Irradiance,
	"radiance": spectrum.Radiance, "intensity": spectrum.Intensity, "other": spectrum.Relative,
}

// ReadTM27 is [Read] for files that have to be IES TM-27.
func ReadTM27(name string, r io.Reader, o Options) (*File, error) {
	f, err := Read(name, r, o)
	if err == nil && f.TM27 == nil {
		return nil, &Problem{File: filepath.Base(name), Found: "text", Want: "a TM-27 file is XML with the root " + tm27Root}
	}
	return f, err
}

// readTM27 reads XML: names without regard to namespace, elements in any order,
// uneven steps, missing optional elements. A document type declaration is
// refused, and nothing is fetched.
func (f *File) readTM27(text []byte, o *Options) *Problem {
	d := tm27Decoder{xml: xml.NewDecoder(bytes.NewReader(text))}
	// The text is UTF-8 by now, whatever its prolog says.
	d.xml.CharsetReader = func(_ string, r io.Reader) (io.Reader, error) { return r, nil }
	root, problem := d.root()
	if problem != nil {
		return problem
	}
	f.TM27 = new(TM27)
	if problem := d.document(f.TM27); problem != nil {
		return problem
	}
	r := &f.Report
	r.Format = formatTM27
	if root != tm27Root {
		r.warn(fmt.Sprintf("the root element is %s, read as %s", Quote(root), tm27Root))
	}
	for _, e := range append(append([]Element(nil), f.TM27.Header...), f.TM27.Distribution...) {
		if e.Text != "" {
			r.Metadata = append(r.Metadata, Pair{e.Name, e.Text})
		}
	}
	r.Skipped = d.skipped
	r.warnSkipped()
	if len(d.samples) < 2 {
		return &Problem{Found: count(len(d.samples), "SpectralData element") + " with a value", Want: "a spectrum needs at least two"}
	}
	u, problem := d.unit(o, r)
	if problem != nil {
		return problem
	}
	if problem := convertAxis(d.samples, o, AutoUnit, r); problem != nil {
		return problem
	}
	samples, problem := order(d.samples, r)
	if problem != nil {
		return problem
	}
	r.Rows = len(samples)
	return f.finish(samples, u, o)
}

func webPage() *Problem {
	return &Problem{Found: "a web page", Want: "save the spectrum itself, as text or TM-27"}
}

// tm27Decoder walks through a document.
type tm27Decoder struct {
	xml      *xml.Decoder
	elements int
	quantity string
	samples  []sample
	skipped  []Skip
}

func (d *tm27Decoder) line() int {
	line, _ := d.xml.InputPos()
	return line
}

// token returns the next token that matters, nil at the end of the document.
func (d *tm27Decoder) token() (xml.Token, *Problem) {
	for {
		t, err := d.xml.Token()
		if err == io.EOF {
			return nil, nil
		}
		if err != nil {
			var syntax *xml.SyntaxError
			if errors.As(err, &syntax) {
				return nil, &Problem{Line: syntax.Line, Found: "broken XML (" + syntax.Msg + ")", Want: "export the file again"}
			}
			return nil, &Problem{Line: d.line(), Found: "broken XML", Want: "export the file again"}
		}
		switch t := t.(type) {
		case xml.Directive:
			if bytes.Contains(bytes.ToLower(t), []byte("html")) {
				return nil, webPage()
			}
			return nil, &Problem{Line: d.line(), Found: "a document type declaration", Want: "TM-27 files have none: remove it"}
		case xml.StartElement:
			if d.elements++; d.elements > maxElements {
				return nil, &Problem{Line: d.line(), Found: fmt.Sprintf("more than %d elements", maxElements), Want: "one spectrum is smaller: check that this is the right file"}
			}
			return t, nil
		case xml.EndElement, xml.CharData:
			return t, nil
		}
	}
}

// root goes to the root element and returns its name, which has to be TM-27's.
func (d *tm27Decoder) root() (string, *Problem) {
	for {
		t, problem := d.token()
		if problem != nil {
			return "", problem
		}
		switch t := t.(type) {
		case nil:
			return "", &Problem{Found: "XML without an element", Want: "a TM-27 file has the root " + tm27Root}
		case xml.StartElement:
			name := t.Name.Local
			if strings.EqualFold(name, "html") {
				return "", webPage()
			}
			if !strings.HasPrefix(name, "IESTM27") {
				return "", &Problem{Found: "XML with the root " + Quote(name), Want: "of XML only TM-27 is read, whose root is " + tm27Root}
			}
			return name, nil
		}
	}
}

// document reads the root's content.
func (d *tm27Decoder) document(into *TM27) *Problem {
	return d.children(func(e xml.StartElement) *Problem {
		switch e.Name.Local {
		case "Header":
			return d.children(func(e xml.StartElement) *Problem { return d.keep(e, &into.Header, 2) })
		case "SpectralDistribution":
			return d.children(func(e xml.StartElement) *Problem {
				switch e.Name.Local {
				case "SpectralData":
					return d.sample(e)
				case "SpectralQuantity":
					var q []Element
					problem := d.keep(e, &q, 2)
					if problem == nil {
						d.quantity = q[0].Text
					}
					return problem
				}
				return d.keep(e, &into.Distribution, 2)
			})
		}
		return d.keep(e, &into.Other, 1)
	})
}

// children calls visit for each child of the element just begun; visit reads
// it to its end.
func (d *tm27Decoder) children(visit func(xml.StartElement) *Problem) *Problem {
	for {
		t, problem := d.token()
		if problem != nil {
			return problem
		}
		switch t := t.(type) {
		case nil, xml.EndElement:
			return nil
		case xml.StartElement:
			if problem := visit(t); problem != nil {
				return problem
			}
		}
	}
}

// keep reads an element to its end and appends it.
func (d *tm27Decoder) keep(start xml.StartElement, into *[]Element, depth int) *Problem {
	if depth > maxDepth {
		return &Problem{Line: d.line(), Found: fmt.Sprintf("elements more than %d deep", maxDepth), Want: "TM-27 files are flat: export the file again"}
	}
	e := Element{Name: start.Name.Local}
	for _, a := range start.Attr {
		if a.Name.Space != "xmlns" && a.Name.Local != "xmlns" {
			e.Attributes = append(e.Attributes, Pair{a.Name.Local, a.Value})
		}
	}
	var text strings.Builder
	for {
		t, problem := d.token()
		if problem != nil {
			return problem
		}
		switch t := t.(type) {
		case xml.CharData:
			text.Write(t)
		case xml.StartElement:
			if problem := d.keep(t, &e.Children, depth+1); problem != nil {
				return problem
			}
		case nil, xml.EndElement:
			e.Text = strings.TrimSpace(text.String())
			*into = append(*into, e)
			return nil
		}
	}
}

// sample reads one SpectralData element.
func (d *tm27Decoder) sample(start xml.StartElement) *Problem {
	line := d.line()
	var e []Element
	if problem := d.keep(start, &e, 2); problem != nil {
		return problem
	}
	wavelength, given := "", false
	for _, a := range e[0].Attributes {
		if a.Key == "wavelength" {
			wavelength, given = strings.TrimSpace(a.Value), true
		}
	}
	if !given {
		return &Problem{Line: line, Found: "SpectralData without the attribute wavelength", Want: "every sample needs one, in nm"}
	}
	x, kind := parseCell([]byte(wavelength), '.')
	if kind != cellNumber {
		return &Problem{Line: line, Found: Quote(wavelength) + " where a wavelength should be", Want: "a plain number in nm, with a decimal point"}
	}
	v, kind := parseCell([]byte(e[0].Text), '.')
	switch kind {
	case cellNumber:
		d.samples = append(d.samples, sample{x, v, line})
	case cellMissing:
		d.skipped = append(d.skipped, Skip{line, Quote(e[0].Text) + " stands for no value"})
	default:
		return &Problem{Line: line, Found: Quote(e[0].Text) + " where a value should be", Want: "a plain number, with a decimal point"}
	}
	return nil
}

// unit settles what the values are.
func (d *tm27Decoder) unit(o *Options, r *Report) (unit, *Problem) {
	q, known := tm27Quantities[d.quantity]
	switch {
	case known || o.Quantity != nil:
	case d.quantity == "":
		r.warn("SpectralQuantity is missing: the values are read as relative")
	case d.quantity == "exitance":
		r.warn("exitance is read as relative")
	default:
		return unit{}, &Problem{Found: "the SpectralQuantity " + Quote(d.quantity), Want: "a lamp's spectrum is relative, flux, intensity, irradiance or radiance: --spectrum says which"}
	}
	u := chooseUnit(unit{quantity: q, perNm: true}, "SpectralQuantity "+d.quantity, known, o, r)
	if u.quantity.Absolute() && o.Quantity == nil {
		r.warn(fmt.Sprintf("TM-27 gives %s without a unit: %s is assumed", d.quantity, q.Unit()))
	}
	return u, nil
}

// WriteTM27 writes a spectrum as IES TM-27-14, with what t says beside the
// samples; the standard is believed to require Description, DocumentCreator and
// DocumentCreationDate in the header (from memory). [Read] gives every bit of
// the samples back, and t. Counts are written as “other”, which reads back as
// relative. Names of t that XML cannot write are an error.
func WriteTM27(w io.Writer, s *spectrum.Spectrum, t *TM27) error {
	quantity := s.Quantity().String()
	if s.Quantity() == spectrum.Counts {
		quantity = "other"
	}
	distribution := []Element{{Name: "SpectralQuantity", Text: quantity}}
	distribution = append(distribution, t.Distribution...)
	number := func(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
	for i, l := range s.Axis() {
		distribution = append(distribution, Element{
			Name: "SpectralData", Attributes: []Pair{{"wavelength", number(l)}}, Text: number(s.Values()[i]),
		})
	}
	b := bufio.NewWriter(w)
	b.WriteString(xml.Header)
	e := xml.NewEncoder(b)
	e.Indent("", "  ")
	root := Element{
		Name:       tm27Root,
		Attributes: []Pair{{"xmlns", tm27Namespace}, {"version", "1.0"}},
		Children:   append([]Element{{Name: "Header", Children: t.Header}, {Name: "SpectralDistribution", Children: distribution}}, t.Other...),
	}
	if err := root.write(e); err != nil {
		return fmt.Errorf("ingest: TM-27: %w", err)
	}
	if err := e.Close(); err != nil {
		return fmt.Errorf("ingest: TM-27: %w", err)
	}
	b.WriteByte('\n')
	return b.Flush()
}

// xmlName is the part of XML's names that TM-27 needs.
var xmlName = regexp.MustCompile(`^[\pL_][\pL\d_.-]*$`)

func (e *Element) write(to *xml.Encoder) error {
	if !xmlName.MatchString(e.Name) {
		return fmt.Errorf("%q cannot name an element", e.Name)
	}
	for _, a := range e.Attributes {
		if !xmlName.MatchString(a.Key) {
			return fmt.Errorf("%q cannot name an attribute", a.Key)
		}
	}
	start := xml.StartElement{Name: xml.Name{Local: e.Name}}
	for _, a := range e.Attributes {
		start.Attr = append(start.Attr, xml.Attr{Name: xml.Name{Local: a.Key}, Value: a.Value})
	}
	if err := to.EncodeToken(start); err != nil {
		return err
	}
	if e.Text != "" {
		if err := to.EncodeToken(xml.CharData(e.Text)); err != nil {
			return err
		}
	}
	for i := range e.Children {
		if err := e.Children[i].write(to); err != nil {
			return err
		}
	}
	return to.EncodeToken(start.End())
}

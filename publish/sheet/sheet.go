package sheet

import (
	"errors"
	"fmt"
	"html/template"
	"io"
	"strconv"

	"lampassay/assay"
	"lampassay/assay/cost"
	"lampassay/assay/ladder"
	"lampassay/assay/quantity"
	"lampassay/light/emission"
	"lampassay/light/spectrum"
)

// Lamp is one assayed lamp as a page shows it.
type Lamp struct {
	Name     string // as its owner calls it; the input's file name where empty
	Note     string // one paragraph about it; may be empty
	Href     string // relative name of its own sheet, for the comparison; may be empty
	Input    assay.Input
	Result   *assay.Result
	Spectrum *spectrum.Spectrum
	Emission *emission.Result // what makes the light; nil where it was not analysed
	Reading  []string         // how the file was read, in sentences
	Declared []Declared       // what the box or the data sheet says
	Warnings []string         // from reading, beside those of the result
	Ladder   *ladder.Ladder   // from what physics allows down to the mains; nil where it was not built
}

// Declared is one value that the maker states, in the unit of the register.
type Declared struct {
	ID    quantity.ID
	Value float64
}

// Options say what a page adds to its lamps.
type Options struct {
	Title     string // of the page; the lamp's name where empty
	Generated string // a note about when and by whom, for the foot; there is no clock here
	Invented  bool   // the data are invented, and the page says so at its head
	Version   string // of the program
	// Cost is what the lamps of a comparison cost; nil for nothing said.
	Cost *cost.Report
}

// Write writes the sheet of one lamp.
func Write(w io.Writer, l Lamp, o Options) error {
	if err := l.check(); err != nil {
		return err
	}
	v, err := newSheet(&l, o)
	if err != nil {
		return err
	}
	return render(w, "sheet.html", v)
}

// WriteComparison writes the page that sets lamps side by side, in the order
// given.
func WriteComparison(w io.Writer, lamps []Lamp, o Options) error {
	if len(lamps) == 0 {
		return errors.New("sheet: a comparison needs at least one lamp")
	}
	for i := range lamps {
		if err := lamps[i].check(); err != nil {
			return err
		}
	}
	v, err := newComparison(lamps, o)
	if err != nil {
		return err
	}
	return render(w, "comparison.html", v)
}

func (l *Lamp) check() error {
	if l.Result == nil || l.Spectrum == nil {
		return fmt.Errorf("sheet: %q has no result or no spectrum", l.name())
	}
	return nil
}

// name returns what the lamp is called on the page.
func (l *Lamp) name() string {
	switch {
	case l.Name != "":
		return l.Name
	case l.Input.Name != "":
		return l.Input.Name
	case l.Input.File != "":
		return l.Input.File
	}
	return "Unnamed lamp"
}

// declared returns what the box says of a quantity, ready to read, or "".
func (l *Lamp) declared(id quantity.ID) string {
	for _, d := range l.Declared {
		if d.ID == id {
			def, v := quantity.Get(id), d.Value
			if def.Percent {
				v *= 100
			}
			return withUnit(strconv.FormatFloat(v, 'g', 6, 64), unit(def)) // its digits are the maker's
		}
	}
	return ""
}

func render(w io.Writer, name string, view any) error {
	if err := pages().ExecuteTemplate(w, name, view); err != nil {
		return fmt.Errorf("sheet: %w", err)
	}
	return nil
}

// frame is what both pages share.
type frame struct {
	Title     string
	Styles    template.CSS
	Script    template.JS
	Policy    string
	Invented  bool
	Generated string
	Version   string
	Method    string
}

func newFrame(title string, o Options) frame {
	if o.Title != "" {
		title = o.Title
	}
	return frame{
		Title: title, Styles: styles(), Script: template.JS(pageScript), Policy: policy(),
		Invented: o.Invented, Generated: o.Generated, Version: o.Version, Method: assay.MethodVersion,
	}
}

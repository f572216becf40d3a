package webapp

import (
	"cmp"
	"context"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"lampassay/assay/comparison"
	"lampassay/assay/quantity"
	"lampassay/bench/notebook"
	"lampassay/publish/figure"
	"lampassay/publish/sheet"
)

// normalisation makes spectra of lamps comparable: on the picture it says how.
type normalisation struct {
	Key, Label, Printed string
	// divide returns what a lamp's curve is divided by, false where the lamp has no
	// such figure.
	divide func(*sheet.Lamp) (float64, bool)
	Needs  string
}

var normalisations = []normalisation{
	{"lumen", "per lumen", "mW/nm per lumen", perLumen, "a luminous flux of its own"},
	{"watt", "per watt at the mains", "mW/nm per watt at the mains", perWatt, "a luminous flux and a power at the mains"},
	{"area", "equal areas, 380–780 nm", "share of the visible radiation per nm, ‰", perArea, "visible radiation"},
}

// perLumen: the curve over the lumens that it holds is 1/LER of its radiant
// power, which every spectrum has.
func perLumen(l *sheet.Lamp) (float64, bool) {
	ler, ok := l.Result.Value(quantity.LER)
	total, okTotal := covered(l)
	return ler * total / 1000, ok && okTotal && ler > 0
}

// perWatt: the radiant power that the flux stands for, over the power at the mains.
func perWatt(l *sheet.Lamp) (float64, bool) {
	radiant, ok := l.Result.Value(quantity.RadiantFlux)
	power, okPower := l.Result.Value(quantity.Power)
	total, okTotal := covered(l)
	if !ok || !okPower || !okTotal || radiant <= 0 {
		return 0, false
	}
	return total / radiant * power / 1000, true
}

// perArea: the share of the visible range that a nanometre holds.
func perArea(l *sheet.Lamp) (float64, bool) {
	visible, ok := l.Result.Value(quantity.ShareVisible)
	total, okTotal := covered(l)
	return total * visible / 1000, ok && okTotal && visible > 0
}

// covered is the whole of a spectrum's radiation, in its own unit.
func covered(l *sheet.Lamp) (float64, bool) {
	p, err := l.Spectrum.Project(l.Result.Kind)
	if err != nil || !(p.Total > 0) {
		return 0, false
	}
	return p.Total, true
}

type compareView struct {
	By       string
	Ways     []normalisation
	Lamps    []compareLamp
	Heads    []shelfHead
	Pictures []drawnPicture
	Told     []toldApart
	Apart    int      // the coverage of the pairs' intervals, in %
	Left     []string // why a lamp is not in a picture
	Shelf    []*notebook.Shelved
	More     bool // there are more lamps than the list offers
	Kept     []*notebook.Comparison
	This     *notebook.Comparison // that is shown, nil where the lamps were chosen by themselves
	Trashed  []*compareLamp       // whose assay is in the trash
	Title    string
}

type compareLamp struct {
	Assay  *notebook.Assay
	Name   string
	Strip  stripSVG
	Values []compareCell
	Less   string // the address without this lamp
}

type compareCell struct {
	Text, Plus string
	Group      string // the letters of its groups
	Outside    bool
}

type drawnPicture struct {
	Title, Note  string
	Wide, Narrow template.HTML
	Columns      []string
	Rows         [][]string
}

// drawn lays a picture out for a wide screen and for a telephone.
func drawn(p *figure.Picture) (d drawnPicture, err error) {
	d = drawnPicture{Title: p.Title, Note: p.Note, Columns: p.Columns, Rows: p.Rows}
	if d.Wide, err = inline(p.At(figure.Wide)); err != nil {
		return d, err
	}
	d.Narrow, err = inline(p.At(figure.Narrow))
	return d, err
}

// mostOffered is how many lamps a list to choose from has.
const mostOffered = 200

// compare sets two to eight lamps side by side.
func (s *Server) compare(w http.ResponseWriter, r *http.Request) error {
	ctx, ask := r.Context(), r.URL.Query()
	d := compareView{By: ask.Get("by"), Ways: normalisations, Heads: shelfHeads(nil, notebook.Query{})[1:]}
	this, ids, err := s.chosen(ctx, ask)
	if err != nil {
		return err
	}
	if this != nil && d.By == "" {
		d.By = this.Normalise // as it was kept
	}
	at := normalisationOf(d.By)
	if at < 0 {
		at, d.By = 0, normalisations[0].Key
	}
	if this != nil && slices.Equal(this.Assays, ids) {
		d.This = this
	}
	shelf, err := s.nb.Shelf(ctx, notebook.Query{Sort: "name", Limit: mostOffered})
	if err != nil {
		return err
	}
	d.More = shelf.Total > mostOffered
	d.Shelf = slices.DeleteFunc(shelf.Items, func(l *notebook.Shelved) bool { return l.Assay == 0 || slices.Contains(ids, l.Assay) })
	kept, err := s.nb.Comparisons().List(ctx, notebook.Query{})
	if err != nil {
		return err
	}
	d.Kept = kept.Items
	if len(ids) > 8 {
		return bad("%d lamps are chosen, and a comparison takes 2 to 8.", len(ids))
	}
	var lamps []sheet.Lamp
	for _, id := range ids {
		a, err := s.nb.Assays().Get(ctx, id)
		if err != nil {
			return err
		}
		l, err := s.assayedOf(ctx, a)
		if err != nil {
			return err
		}
		lamps = append(lamps, l)
		d.Title += "; " + l.Name
		one, err := s.compareLamp(a, &l, ids, d.By)
		if err != nil {
			return err
		}
		d.Lamps = append(d.Lamps, one)
		if !a.Trashed.IsZero() {
			d.Trashed = append(d.Trashed, &one)
		}
	}
	d.Title = strings.TrimPrefix(d.Title, "; ")
	d.Apart = int(math.Round(100 * comparison.DefaultCoverage))
	for column, id := range shelfFigures {
		d.groupBy(lamps, column, id)
	}
	if len(lamps) >= 2 {
		if err := d.draw(lamps, &normalisations[at]); err != nil {
			return err
		}
	}
	title := "Compare"
	if d.This != nil {
		title = cmp.Or(d.This.Title, title)
	}
	v := s.view(r, title)
	v.MainWide, v.Data = true, &d
	return s.show(w, "compare.html", v)
}

// normalisationOf is the place of a way to draw spectra in the list, −1 for none.
func normalisationOf(key string) int {
	return slices.IndexFunc(normalisations, func(n normalisation) bool { return n.Key == key })
}

// chosen are the assays that an address names, by themselves or as those of a kept
// comparison, and that comparison.
func (s *Server) chosen(ctx context.Context, ask url.Values) (this *notebook.Comparison, ids []notebook.ID, err error) {
	add := func(id notebook.ID) {
		if id != 0 && !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	if text := ask.Get("kept"); text != "" {
		id, err := parseID(text)
		if err != nil {
			return nil, nil, err
		}
		if this, err = s.nb.Comparisons().Get(ctx, id); err != nil {
			return nil, nil, err
		}
		for _, id := range this.Assays {
			add(id)
		}
	}
	for _, text := range ask["assay"] {
		if text == "" {
			continue // none was added
		}
		id, err := parseID(text)
		if err != nil {
			return nil, nil, err
		}
		add(id)
	}
	return this, ids, nil
}

func (s *Server) compareLamp(a *notebook.Assay, l *sheet.Lamp, ids []notebook.ID, by string) (one compareLamp, err error) {
	one = compareLamp{Assay: a, Name: l.Name}
	for _, id := range shelfFigures {
		reading := l.Result.Reading(id)
		_, ok := l.Result.Value(id)
		one.Values = append(one.Values, compareCell{Text: reading.Value, Plus: reading.Sureness(), Outside: ok && !l.Result.InScope(id)})
	}
	less := url.Values{"by": {by}}
	for _, id := range ids {
		if id != a.ID {
			less.Add("assay", fmt.Sprint(id))
		}
	}
	one.Less = "/compare?" + less.Encode()
	if len(a.Strip) > 1 {
		one.Strip, err = drawStrip(a.Strip, 340, 18)
	}
	return one, err
}

// draw makes the pictures: the spectra under the chosen normalisation, and where
// the lights lie.
func (d *compareView) draw(lamps []sheet.Lamp, n *normalisation) error {
	fig := figure.Multiples{Normalisation: n.Printed}
	points := figure.Chromaticity{}
	for i := range lamps {
		l := &lamps[i]
		if k, ok := n.divide(l); ok {
			values := make([]float64, l.Spectrum.Len())
			for j, v := range l.Spectrum.Values() {
				values[j] = v / k
			}
			fig.Lamps = append(fig.Lamps, figure.MultiplesPanel{Name: l.Name, Wavelengths: l.Spectrum.Axis(), Values: values})
		} else {
			d.Left = append(d.Left, l.Name+" is not among the spectra: "+n.Label+" needs "+n.Needs+".")
		}
		if p, ok := pointOf(l); ok {
			points.Points = append(points.Points, p)
		}
	}
	hang := func(p *figure.Picture, err error) error {
		if err != nil {
			return err
		}
		one, err := drawn(p)
		d.Pictures = append(d.Pictures, one)
		return err
	}
	if len(fig.Lamps) > 0 {
		if err := hang(fig.Picture()); err != nil {
			return err
		}
	}
	if len(points.Points) > 0 {
		return hang(points.Picture())
	}
	return nil
}

// comparisonSave keeps a choice of lamps.
func (s *Server) comparisonSave(w http.ResponseWriter, r *http.Request) error {
	_, ids, err := s.chosen(r.Context(), r.PostForm)
	if err != nil {
		return err
	}
	f := newForm(r)
	title := comparisonTitle(f)
	by := f.text("by")
	if f.err == nil && normalisationOf(by) < 0 {
		f.err = bad("Spectra cannot be drawn “%s”: choose a way from the list of the page.", clip(by, 40))
	}
	if f.err != nil {
		return f.err
	}
	c, err := s.nb.Comparisons().Add(r.Context(), notebook.Comparison{Title: title, Assays: ids, Normalise: by})
	if err != nil {
		return err
	}
	return back(w, r, hrefOf(notebook.Ref{Kind: c.Kind(), ID: c.ID}), c.Revision)
}

// comparisonRename gives a kept comparison another title.
func (s *Server) comparisonRename(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	c, err := s.nb.Comparisons().Get(r.Context(), id)
	if err != nil {
		return err
	}
	f := newForm(r)
	c.Title, c.Revision = comparisonTitle(f), f.whole("revision", "the revision")
	if f.err != nil {
		return f.err
	}
	if c, err = s.nb.Comparisons().Update(r.Context(), *c); err != nil {
		return err
	}
	return back(w, r, hrefOf(notebook.Ref{Kind: c.Kind(), ID: c.ID}), c.Revision)
}

// comparisonTitle is the title that a form gives.
func comparisonTitle(f *form) string {
	title := f.text("title")
	if title == "" && f.err == nil {
		f.err = bad("A comparison needs a title: it is found by it later.")
	}
	return title
}

package webapp

import (
	"context"
	"encoding/json"
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/bench/notebook"
	"lampassay/publish/figure"
)

// stripSVG is a strip, drawn.
type stripSVG = template.HTML

// shelfFigures are the quantities that the shelf shows beside a lamp.
var shelfFigures = []quantity.ID{
	quantity.LuminousFlux, quantity.Power, quantity.LuminousEfficacy, quantity.CCT, quantity.Duv, quantity.Ra, quantity.Rf,
}

// perPage is how many lamps stand on one page of the shelf.
const perPage = 50

type shelfView struct {
	Query        notebook.Query
	Heads        []shelfHead
	Lamps        []shelfLamp
	Total        int
	Technologies []string
	From, To     int
	Earlier      string // the page before, "" where there is none
	Later        string
	Plain        bool // nothing is filtered
	Chosen       []notebook.ID
}

type shelfHead struct {
	Label, Unit, Name string
	Key               string
	Href              string
	Sorted            string // ascending, descending, or "" for not
}

type shelfLamp struct {
	*notebook.Shelved
	Strip  stripSVG
	Values []cell
}

// cell is a value as it is read, "–" where there is none.
type cell struct {
	Text string
	None bool
}

// shelf lists the lamps.
func (s *Server) shelf(w http.ResponseWriter, r *http.Request) error {
	ask := r.URL.Query()
	q := notebook.Query{Text: clip(ask.Get("text"), 200), Technology: ask.Get("technology"), Sort: ask.Get("sort"), Descending: ask.Get("down") != "", Limit: perPage}
	if n, err := strconv.Atoi(ask.Get("from")); err == nil && n > 0 {
		q.Offset = n
	}
	if !sortable(q.Sort) {
		q.Sort = ""
	}
	ctx := r.Context()
	list, err := s.nb.Shelf(ctx, q)
	if err == nil && len(list.Items) == 0 && list.Total > 0 { // beyond the end
		q.Offset = (list.Total - 1) / perPage * perPage
		list, err = s.nb.Shelf(ctx, q)
	}
	if err != nil {
		return err
	}
	d := shelfView{Query: q, Total: list.Total, From: q.Offset + 1, To: q.Offset + len(list.Items), Plain: q.Text == "" && q.Technology == ""}
	if d.Technologies, err = s.technologies(ctx); err != nil {
		return err
	}
	for _, l := range list.Items {
		sure, err := s.surenessOf(ctx, l.Assay)
		if err != nil {
			return err
		}
		one := shelfLamp{Shelved: l, Values: cellsOf(l.Figures, sure, shelfFigures)}
		if one.Strip, err = s.stripOf(ctx, l); err != nil {
			return err
		}
		d.Lamps = append(d.Lamps, one)
	}
	d.Heads = shelfHeads(ask, q)
	page := func(from int) string {
		next := url.Values{}
		for k := range ask {
			if k != "done" && k != "from" {
				next.Set(k, ask.Get(k))
			}
		}
		next.Set("from", strconv.Itoa(from))
		return "/?" + next.Encode()
	}
	if q.Offset > 0 {
		d.Earlier = page(max(q.Offset-perPage, 0))
	}
	if d.To < d.Total {
		d.Later = page(q.Offset + perPage)
	}
	v := s.view(r, "Shelf")
	v.Follow, v.Seq, v.MainWide, v.Data = true, s.latest(ctx), true, &d
	return s.show(w, "shelf.html", v)
}

// sortable reports whether the shelf can be sorted by a word of the address.
func sortable(by string) bool {
	return by == "name" || by == "changed" || slices.ContainsFunc(shelfFigures, func(id quantity.ID) bool { return quantity.Get(id).Key == by })
}

func shelfHeads(ask url.Values, q notebook.Query) []shelfHead {
	heads := []shelfHead{{Label: "Lamp", Name: "name", Key: "name"}}
	for _, id := range shelfFigures {
		d := quantity.Get(id)
		heads = append(heads, shelfHead{Label: d.Symbol, Unit: d.ReadingUnit(), Name: d.Name, Key: d.Key})
	}
	for i := range heads {
		h := &heads[i]
		next := url.Values{"sort": {h.Key}}
		for _, k := range []string{"text", "technology"} {
			if v := ask.Get(k); v != "" {
				next.Set(k, v)
			}
		}
		// Figures begin with the greatest, names with A.
		down := h.Key != "name"
		if q.Sort == h.Key {
			down = !q.Descending
			h.Sorted = "ascending"
			if q.Descending {
				h.Sorted = "descending"
			}
		}
		if down {
			next.Set("down", "1")
		}
		h.Href = "/?" + next.Encode()
	}
	return heads
}

// cellsOf writes figures to the place that their expanded uncertainty gives, and by the
// register's own rule where sure has none.
func cellsOf(figures, sure map[string]float64, ids []quantity.ID) []cell {
	cells := make([]cell, len(ids))
	for i, id := range ids {
		d := quantity.Get(id)
		if v, has := figures[d.Key]; has {
			cells[i].Text = d.FormatBeside(v, sure[d.Key])
		} else {
			cells[i] = cell{"–", true}
		}
	}
	return cells
}

// surenessOf are the expanded uncertainties in the record of an assay, which never
// changes, by key of their quantity; id may be 0.
func (s *Server) surenessOf(ctx context.Context, id notebook.ID) (map[string]float64, error) {
	if id == 0 {
		return nil, nil
	}
	return s.sureness.get(ctx, id, func(ctx context.Context) (map[string]float64, error) {
		a, err := s.nb.Assays().Get(ctx, id)
		if err != nil {
			return nil, err
		}
		return surenessIn(a.Record), nil
	})
}

// surenessIn reads the expanded uncertainties from the record of an assay, and half the
// interval where that is lopsided. Of a record of another shape nothing is known.
func surenessIn(record []byte) map[string]float64 {
	var r struct {
		Quantities map[string]struct {
			Value      *float64   `json:"value"`
			U          *float64   `json:"u"`
			Interval95 [2]float64 `json:"interval95"`
		} `json:"quantities"`
	}
	if json.Unmarshal(record, &r) != nil {
		return nil
	}
	sure := map[string]float64{}
	for key, q := range r.Quantities {
		if q.Value == nil || q.U == nil {
			continue
		}
		spread := assay.Spread{U: *q.U, Low: q.Interval95[0], High: q.Interval95[1]}
		if sure[key] = spread.Expanded(); spread.Lopsided(*q.Value) {
			sure[key] = (spread.High - spread.Low) / 2
		}
	}
	return sure
}

// technologies are those that lamps on the shelf have.
func (s *Server) technologies(ctx context.Context) ([]string, error) {
	lamps, err := s.nb.Lamps().List(ctx, notebook.Query{})
	if err != nil {
		return nil, err
	}
	var all []string
	for _, l := range lamps.Items {
		if l.Technology != "" {
			all = append(all, l.Technology)
		}
	}
	slices.Sort(all)
	return slices.Compact(all), nil
}

// The strip of an assay is kept at even steps over the visible range.
const stripFrom, stripTo, stripSteps = 380, 780, 200

// stripOf draws the strip of a lamp, "" where it has none.
func (s *Server) stripOf(ctx context.Context, l *notebook.Shelved) (stripSVG, error) {
	if l.Assay == 0 || len(l.Strip) < 2 {
		return "", nil
	}
	return s.strips.get(ctx, l.Assay, func(context.Context) (stripSVG, error) { return drawStrip(l.Strip, 340, 18) })
}

// drawStrip draws a strip that an assay keeps.
func drawStrip(values []float64, width int, height float64) (stripSVG, error) {
	nm := make([]float64, len(values))
	for i := range nm {
		nm[i] = stripFrom + float64(stripTo-stripFrom)*float64(i)/float64(len(values)-1)
	}
	p, err := figure.Strip{Wavelengths: nm, Values: values, Height: height}.Picture()
	if err != nil {
		return "", err
	}
	return inline(p.At(width))
}

// inline returns a picture as an element of the page. It is this program's own
// drawing with every text escaped, so it may stand as it is.
func inline(p *figure.Picture) (template.HTML, error) {
	var b strings.Builder
	err := p.SVG(&b, figure.Page)
	return template.HTML(b.String()), err
}

// clip shortens a text to so many bytes at most.
func clip(s string, n int) string {
	if len(s) > n {
		return strings.ToValidUTF8(s[:n], "")
	}
	return s
}

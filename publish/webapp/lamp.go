package webapp

import (
	"cmp"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"lampassay/assay/quantity"
	"lampassay/bench/notebook"
)

type lampView struct {
	Lamp     *notebook.Lamp
	Shelved  *notebook.Shelved
	Strip    stripSVG
	Heads    []shelfHead
	Values   []cell
	Declared []declaredRow
	Assays   []assayRow
	Sittings []*notebook.Sitting
	Today    string
}

type declaredRow struct{ Name, Text, Source string }

type assayRow struct {
	*notebook.Assay
	Shown  bool // on the shelf
	Values []cell
}

// lamp shows a lamp and its history.
func (s *Server) lamp(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	ctx := r.Context()
	l, err := s.nb.Lamps().Get(ctx, id)
	if err != nil {
		return err
	}
	assays, err := s.nb.Assays().List(ctx, notebook.Query{Lamp: id, Descending: true})
	if err != nil {
		return err
	}
	sittings, err := s.nb.Sittings().List(ctx, notebook.Query{Lamp: id, Descending: true})
	if err != nil {
		return err
	}
	d := lampView{Lamp: l, Sittings: sittings.Items, Heads: shelfHeads(nil, notebook.Query{})[1:], Today: s.now().Format(time.DateOnly)}
	shown := l.PrimaryAssay
	if shown == 0 && len(assays.Items) > 0 {
		shown = assays.Items[0].ID
	}
	for _, a := range assays.Items {
		row := assayRow{a, a.ID == shown, cellsOf(a.Figures, shelfFigures)}
		if row.Shown {
			d.Values = row.Values
			if d.Strip, err = drawStrip(a.Strip, 1152, 48); err != nil {
				return err
			}
		}
		d.Assays = append(d.Assays, row)
	}
	for _, v := range l.Declared {
		row := declaredRow{Name: v.Quantity, Text: plain(v.Value) + " " + v.Unit, Source: v.Source}
		if def, err := quantity.ByKey(v.Quantity); err == nil {
			row.Name = def.Name
			row.Text = plain(v.Value) + " " + def.Unit
		}
		d.Declared = append(d.Declared, row)
	}
	v := s.view(r, l.Name)
	v.Here, v.Follow, v.Seq, v.Data = "", true, s.latest(ctx), &d
	return s.show(w, "lamp.html", v)
}

// declarable are the quantities that boxes state.
var declarable = []quantity.ID{quantity.LuminousFlux, quantity.Power, quantity.LuminousEfficacy, quantity.CCT, quantity.Ra, quantity.Rf}

type lampFormView struct {
	Lamp     *notebook.Lamp
	New      bool
	Problem  string
	Families []family
	Declared []declaredField
	Hours    string
}

type declaredField struct{ Key, Label, Unit, Value string }

// lampForm is the page on which a lamp is described.
func (s *Server) lampForm(w http.ResponseWriter, r *http.Request) error {
	l := new(notebook.Lamp)
	if r.PathValue("id") != "" {
		id, err := idOf(r)
		if err != nil {
			return err
		}
		if l, err = s.nb.Lamps().Get(r.Context(), id); err != nil {
			return err
		}
	}
	return s.showLampForm(w, r, http.StatusOK, l, "")
}

func (s *Server) showLampForm(w http.ResponseWriter, r *http.Request, status int, l *notebook.Lamp, problem string) error {
	d := lampFormView{Lamp: l, New: l.ID == 0, Problem: problem, Families: families, Hours: num(l.BurnedHours)}
	for _, id := range declarable {
		def := quantity.Get(id)
		f := declaredField{Key: def.Key, Label: def.Name, Unit: def.Unit}
		if i := slices.IndexFunc(l.Declared, func(v notebook.Declared) bool { return v.Quantity == def.Key }); i >= 0 {
			f.Value = plain(l.Declared[i].Value)
		}
		d.Declared = append(d.Declared, f)
	}
	title := "New lamp"
	if l.ID != 0 {
		title = "Change " + l.Name
	}
	v := s.view(r, title)
	v.Here, v.Data = "", &d
	return s.write(w, status, "lampform.html", v)
}

// lampSave keeps what the form says: a new lamp, or another state of one.
func (s *Server) lampSave(w http.ResponseWriter, r *http.Request) error {
	ctx, f := r.Context(), newForm(r)
	l := new(notebook.Lamp)
	if r.PathValue("id") != "" {
		id, err := idOf(r)
		if err != nil {
			return err
		}
		if l, err = s.nb.Lamps().Get(ctx, id); err != nil {
			return err
		}
		l.Revision = f.revision() // of the page, not of now: who was faster wins
	}
	l.Name, l.Maker, l.Model, l.Piece = f.text("name"), f.text("maker"), f.text("model"), f.text("piece")
	l.Technology, l.Gear, l.Base, l.Notes = f.text("technology"), f.text("gear"), f.text("base"), f.text("notes")
	l.BurnedHours = f.number("burned_hours", "the hours burned")
	l.Acquired = f.day("acquired")
	l.Tags = strings.Fields(strings.ReplaceAll(f.text("tags"), ",", " "))
	l.Declared = slices.DeleteFunc(l.Declared, func(d notebook.Declared) bool {
		return slices.ContainsFunc(declarable, func(id quantity.ID) bool { return quantity.Get(id).Key == d.Quantity })
	})
	for _, id := range declarable {
		def := quantity.Get(id)
		if v := f.number("declared_"+def.Key, "the declared "+def.Name); v != nil {
			l.Declared = append(l.Declared, notebook.Declared{Quantity: def.Key, Value: *v, Unit: def.Unit, Source: "box"})
		}
	}
	err := f.err
	var kept *notebook.Lamp
	switch {
	case err != nil:
	case l.ID == 0:
		kept, err = s.nb.Lamps().Add(ctx, *l)
	default:
		kept, err = s.nb.Lamps().Update(ctx, *l)
	}
	if err != nil {
		status, text := s.explain(r, err)
		if status != http.StatusUnprocessableEntity && status != http.StatusConflict {
			return err
		}
		return s.showLampForm(w, r, status, l, text)
	}
	return back(w, r, lampPath(kept.ID), kept.Revision)
}

// lampHistory adds an entry to a lamp's history.
func (s *Server) lampHistory(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	f := newForm(r)
	on, text, hours := f.day("on"), f.text("text"), f.number("burned_hours", "the hours burned")
	switch {
	case f.err != nil:
		return f.err
	case on == nil || text == "":
		return bad("An entry of the history has a day and says what happened.")
	}
	l, err := s.nb.Lamps().Get(r.Context(), id)
	if err != nil {
		return err
	}
	l.History = append(l.History, notebook.Event{On: *on, Text: text, BurnedHours: hours})
	slices.SortStableFunc(l.History, func(a, b notebook.Event) int { return a.On.Compare(b.On.Time) })
	if hours != nil {
		l.BurnedHours = hours
	}
	kept, err := s.nb.Lamps().Update(r.Context(), *l)
	if err != nil {
		return err
	}
	return back(w, r, lampPath(id), kept.Revision)
}

func lampPath(id notebook.ID) string { return "/lamps/" + strconv.FormatInt(int64(id), 10) }

// nameOfLamp is what a lamp is called in lists.
func nameOfLamp(l *notebook.Lamp) string {
	return cmp.Or(l.Name, "lamp "+strconv.FormatInt(int64(l.ID), 10))
}

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
	// Published is where figures of its assays went out.
	Published []*notebook.Publication
	Today     string
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
	return s.showLamp(w, r, http.StatusOK, id, nil)
}

// showLamp shows a lamp; f is a form of the page that could not be taken, or nil.
func (s *Server) showLamp(w http.ResponseWriter, r *http.Request, status int, id notebook.ID, f *form) error {
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
		sure, err := s.surenessOf(ctx, a.ID)
		if err != nil {
			return err
		}
		row := assayRow{a, a.ID == shown, cellsOf(a.Figures, sure, shelfFigures)}
		if row.Shown {
			d.Values = row.Values
			if d.Strip, err = drawStrip(a.Strip, 1152, 48); err != nil {
				return err
			}
		}
		d.Assays = append(d.Assays, row)
	}
	var ids []notebook.ID
	for _, a := range assays.Items {
		ids = append(ids, a.ID)
	}
	if d.Published, err = s.publishedWith(ctx, ids...); err != nil {
		return err
	}
	for _, v := range l.Declared {
		row := declaredRow{Name: v.Quantity, Text: written(v.Value) + " " + v.Unit, Source: v.Source}
		if def, err := quantity.ByKey(v.Quantity); err == nil {
			row.Name = def.Name
			row.Text = written(v.Value) + " " + def.Unit
		}
		d.Declared = append(d.Declared, row)
	}
	v := s.view(r, l.Name)
	v.Here, v.Follow, v.Seq, v.Data = "", true, s.latest(ctx), &d
	v.refused(f, lampPath(id))
	return s.write(w, status, "lamp.html", v)
}

// declarable are the quantities that boxes state.
var declarable = []quantity.ID{quantity.LuminousFlux, quantity.Power, quantity.LuminousEfficacy, quantity.CCT, quantity.Ra, quantity.Rf}

type lampFormView struct {
	Lamp     *notebook.Lamp
	New      bool
	Families []string
	Declared []declaredField
}

type declaredField struct{ Name, Label, Value string }

// lampForm is the page on which a lamp is described.
func (s *Server) lampForm(w http.ResponseWriter, r *http.Request) error {
	l, err := s.lampAsked(r)
	if err != nil {
		return err
	}
	return s.showLampForm(w, r, http.StatusOK, l, nil)
}

// lampAsked is the lamp that an address names, or a new one.
func (s *Server) lampAsked(r *http.Request) (*notebook.Lamp, error) {
	if r.PathValue("id") == "" {
		return new(notebook.Lamp), nil
	}
	id, err := idOf(r)
	if err != nil {
		return nil, err
	}
	return s.nb.Lamps().Get(r.Context(), id)
}

// showLampForm shows what is kept of a lamp, under what was written where f could
// not be taken.
func (s *Server) showLampForm(w http.ResponseWriter, r *http.Request, status int, l *notebook.Lamp, f *form) error {
	d := lampFormView{Lamp: l, New: l.ID == 0, Families: familyNames()}
	for _, id := range declarable {
		def := quantity.Get(id)
		one := declaredField{Name: declaredPrefix + def.Key, Label: def.Name}
		if def.Unit != "" {
			one.Label += ", " + def.Unit
		}
		if i := slices.IndexFunc(l.Declared, func(v notebook.Declared) bool { return v.Quantity == def.Key }); i >= 0 {
			one.Value = plain(l.Declared[i].Value)
		}
		d.Declared = append(d.Declared, one)
	}
	title, page := "New lamp", "/lamps/new"
	if l.ID != 0 {
		title, page = "Change "+l.Name, lampPath(l.ID)+"/edit"
	}
	v := s.view(r, title)
	v.Here, v.Data = "", &d
	v.refused(f, page)
	return s.write(w, status, "lampform.html", v)
}

// declaredPrefix opens the names of the fields for what the box says.
const declaredPrefix = "declared_"

// lampSave keeps what the form says: a new lamp, or another state of one.
func (s *Server) lampSave(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r, "lamp")
	l, err := s.lampAsked(r)
	if err != nil {
		return err
	}
	is := *l
	describe(&is, f)
	var kept *notebook.Lamp
	switch {
	case f.err != nil:
		err = f.err
	case is.ID == 0:
		kept, err = s.nb.Lamps().Add(r.Context(), is)
	default:
		is.Revision = f.revision() // of the page, not of now: who was faster wins
		kept, err = s.nb.Lamps().Update(r.Context(), is)
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showLampForm(w, r, status, l, f) })
	}
	return back(w, r, lampPath(kept.ID), kept.Revision)
}

// describe puts what a form says into a lamp.
func describe(l *notebook.Lamp, f *form) {
	l.Name = f.named("name", "A lamp needs a name.")
	l.Maker, l.Model, l.Piece = f.text("maker"), f.text("model"), f.text("piece")
	l.Technology, l.Gear, l.Base, l.Notes = f.text("technology"), f.text("gear"), f.text("base"), f.text("notes")
	l.Acquired = f.day("acquired")
	l.BurnedHours = f.hours("burned_hours")
	l.Tags = strings.Fields(strings.ReplaceAll(f.text("tags"), ",", " "))
	l.Declared = slices.DeleteFunc(slices.Clone(l.Declared), func(d notebook.Declared) bool {
		return slices.ContainsFunc(declarable, func(id quantity.ID) bool { return quantity.Get(id).Key == d.Quantity })
	})
	for _, id := range declarable {
		def := quantity.Get(id)
		name := declaredPrefix + def.Key
		if v := f.number(name, "the declared "+def.Name); v != nil {
			if why := notDeclarable(id, *v); why != "" {
				f.wrong(name, "The box cannot say %s for the %s: %s.", written(*v), def.Name, why)
			}
			l.Declared = append(l.Declared, notebook.Declared{Quantity: def.Key, Value: *v, Unit: def.Unit, Source: "box"})
		}
	}
}

// notDeclarable says what would do where a box cannot state such a value of a
// quantity, "" where it can. Rendering indices have no lower end: of some lamps Ra is
// far below 0.
func notDeclarable(id quantity.ID, v float64) string {
	switch id {
	case quantity.Ra:
		if v > 100 {
			return "up to 100 is possible"
		}
	case quantity.Rf:
		if v < 0 || v > 100 {
			return "from 0 to 100 is possible"
		}
	default:
		if v <= 0 {
			return "a number above 0 is possible, or nothing"
		}
	}
	return ""
}

// hours returns how long a lamp has burned, nil for an empty field.
func (f *form) hours(name string) *float64 {
	v := f.number(name, "the hours burned")
	if v != nil && *v < 0 {
		f.wrong(name, "A lamp cannot have burned for %s hours: from 0 up is possible.", written(*v))
	}
	return v
}

// lampHistory adds an entry to a lamp's history.
func (s *Server) lampHistory(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	l, err := s.nb.Lamps().Get(r.Context(), id)
	if err != nil {
		return err
	}
	f := formOf(r, "history")
	on, text, hours := f.day("on"), f.needed("text", "An entry of the history says what happened."), f.hours("burned_hours")
	if on == nil {
		f.wrong("on", "An entry of the history has a day: write it as 2026-11-25.")
	}
	err = f.err
	if err == nil {
		l.History = append(l.History, notebook.Event{On: *on, Text: text, BurnedHours: hours})
		slices.SortStableFunc(l.History, func(a, b notebook.Event) int { return a.On.Compare(b.On.Time) })
		if hours != nil {
			l.BurnedHours = hours
		}
		l, err = s.nb.Lamps().Update(r.Context(), *l)
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showLamp(w, r, status, id, f) })
	}
	return back(w, r, lampPath(id), l.Revision)
}

func lampPath(id notebook.ID) string { return "/lamps/" + strconv.FormatInt(int64(id), 10) }

// nameOfLamp is what a lamp is called in lists.
func nameOfLamp(l *notebook.Lamp) string {
	return cmp.Or(l.Name, "lamp "+strconv.FormatInt(int64(l.ID), 10))
}

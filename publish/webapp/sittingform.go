package webapp

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"lampassay/bench/evidence"
	"lampassay/bench/notebook"
)

type sittingFormView struct {
	Sitting     *notebook.Sitting // as it is kept; empty where it is to begin
	New         bool
	Lamp        *notebook.Lamp
	Family      *family
	Instruments []used
	References  []used
	PowersAt    []choice
}

// used is an instrument or a reference lamp that a sitting may have been made with.
type used struct {
	Field   string // of the form
	ID      notebook.ID
	Text    string
	Ticked  bool
	Overdue []string
}

// sittingForm begins a sitting: first what to beware of.
func (s *Server) sittingForm(w http.ResponseWriter, r *http.Request) error {
	lamp, err := idOf(r)
	if err != nil {
		return err
	}
	l, err := s.nb.Lamps().Get(r.Context(), lamp)
	if err != nil {
		return err
	}
	if err := inUse(l); err != nil {
		return err
	}
	return s.showSittingForm(w, r, http.StatusOK, &notebook.Sitting{Lamp: lamp}, nil)
}

// sittingChange is the page on which the set-up of a sitting is put right.
func (s *Server) sittingChange(w http.ResponseWriter, r *http.Request) error {
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	return s.showSittingForm(w, r, http.StatusOK, sit, nil)
}

// showSittingForm shows what is kept of a sitting's set-up, under what was written
// where f could not be taken.
func (s *Server) showSittingForm(w http.ResponseWriter, r *http.Request, status int, sit *notebook.Sitting, f *form) error {
	l, err := s.nb.Lamps().Get(r.Context(), sit.Lamp)
	if err != nil {
		return err
	}
	d := sittingFormView{
		Sitting: sit, New: sit.ID == 0, Lamp: l, Family: familyOfLamp(l),
		PowersAt: powersAt,
	}
	if d.Instruments, err = s.instrumentsFor(r.Context(), sit.Instruments); err != nil {
		return err
	}
	if d.References, err = s.referencesFor(r.Context(), sit.References); err != nil {
		return err
	}
	if f != nil {
		ticked(d.Instruments, r.PostForm["instrument"])
		ticked(d.References, r.PostForm["reference"])
	}
	title, page := "Sitting with "+l.Name, lampPath(l.ID)+"/sit"
	if !d.New {
		title, page = "Set-up of "+cmpTitle(sit.Title, l.Name), sittingPath(sit.ID)+"/edit"
	}
	v := s.view(r, title)
	v.Here, v.Data = "", &d
	v.refused(f, page)
	return s.write(w, status, "sittingform.html", v)
}

// ticked ticks what a form had ticked.
func ticked(all []used, ids []string) {
	for i := range all {
		all[i].Ticked = slices.Contains(ids, fmt.Sprint(all[i].ID))
	}
}

// instrumentsFor are the instruments to choose from, and those chosen though they
// are in the trash by now.
func (s *Server) instrumentsFor(ctx context.Context, chosen []notebook.ID) (all []used, err error) {
	list, err := s.nb.Instruments().List(ctx, notebook.Query{})
	if err != nil {
		return nil, err
	}
	for _, id := range chosen {
		if !slices.ContainsFunc(list.Items, func(in *notebook.Instrument) bool { return in.ID == id }) {
			in, err := s.nb.Instruments().Get(ctx, id)
			if err != nil {
				return nil, err
			}
			list.Items = append(list.Items, in)
		}
	}
	for _, in := range list.Items {
		late, err := evidence.Overdue(ctx, s.nb, in, s.day())
		if err != nil {
			return nil, err
		}
		all = append(all, used{"instrument", in.ID, withSort(in.Name, in.Sort), slices.Contains(chosen, in.ID), late})
	}
	return all, nil
}

// referencesFor are the reference lamps to choose from, and those chosen though they
// are in the trash by now.
func (s *Server) referencesFor(ctx context.Context, chosen []notebook.ID) (all []used, err error) {
	list, err := s.nb.References().List(ctx, notebook.Query{})
	if err != nil {
		return nil, err
	}
	for _, id := range chosen {
		if !slices.ContainsFunc(list.Items, func(ref *notebook.Reference) bool { return ref.ID == id }) {
			ref, err := s.nb.References().Get(ctx, id)
			if err != nil {
				return nil, err
			}
			list.Items = append(list.Items, ref)
		}
	}
	for _, ref := range list.Items {
		all = append(all, used{"reference", ref.ID, withSort(ref.Name, ref.Sort), slices.Contains(chosen, ref.ID), ref.Overdue(s.day())})
	}
	return all, nil
}

// withSort is a name with what it is the name of, where it does not say so itself.
func withSort(name, sort string) string {
	if strings.Contains(strings.ToLower(name), strings.ToLower(sort)) {
		return name
	}
	return name + ", " + sort
}

// sittingSave begins a sitting, or puts the set-up of one right.
func (s *Server) sittingSave(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r, "sitting")
	sit := &notebook.Sitting{Lamp: f.id("lamp"), Started: s.now().UTC()}
	if r.PathValue("id") != "" {
		var err error
		if sit, err = s.sittingAsked(r); err != nil {
			return err
		}
	}
	l, err := s.nb.Lamps().Get(r.Context(), sit.Lamp)
	if err != nil {
		return err
	}
	is := *sit
	is.Title = cmp.Or(f.titled("title"), is.Started.Local().Format("Sitting of 2 January 2006"))
	is.SetUp = f.setUp()
	if is.Instruments, err = idsOf(r.PostForm["instrument"]); err != nil {
		return err
	}
	if is.References, err = idsOf(r.PostForm["reference"]); err != nil {
		return err
	}
	var kept *notebook.Sitting
	switch {
	case f.err != nil:
		err = f.err
	case is.ID == 0 && !l.Trashed.IsZero():
		err = inUse(l)
	case is.ID == 0:
		for _, step := range familyOfLamp(l).checklist() {
			is.Checklist = append(is.Checklist, notebook.Step{Text: step})
		}
		kept, err = s.nb.Sittings().Add(r.Context(), is)
	default:
		is.Revision = f.revision()
		kept, err = s.nb.Sittings().Update(r.Context(), is)
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showSittingForm(w, r, status, sit, f) })
	}
	return back(w, r, sittingPath(kept.ID), kept.Revision)
}

// idsOf reads the numbers of records that were ticked.
func idsOf(ticked []string) (ids []notebook.ID, err error) {
	for _, text := range ticked {
		id, err := parseID(text)
		if err != nil {
			return nil, err
		}
		ids = append(ids, id)
	}
	return ids, nil
}

// setUp is the set-up that a form describes.
func (f *form) setUp() notebook.SetUp {
	u := notebook.SetUp{
		Geometry: f.text("geometry"), DistanceM: f.number("distance_m", "the distance"), Position: f.text("position"),
		AmbientC: f.number("ambient_c", "the temperature"), Supply: f.text("supply"), SupplyV: f.number("supply_v", "the voltage"),
		SupplyHz: f.number("supply_hz", "the frequency"), PowerAt: f.text("power_at"), Remarks: f.text("remarks"),
	}
	if d := u.DistanceM; d != nil && !(*d > 0 && *d <= mostDistanceM) {
		f.wrong("distance_m", "A distance of %s m cannot be: above 0 m and up to %d m is possible, or nothing where none was measured.", written(*d), mostDistanceM)
	}
	if t := u.AmbientC; t != nil && !(*t >= coldestC && *t <= hottestC) {
		f.wrong("ambient_c", "Air of %s °C cannot be: from −%d to %d °C is possible, or nothing where it was not measured.", written(*t), -coldestC, hottestC)
	}
	if v := u.SupplyV; v != nil && !(*v > 0 && *v <= mostVolts) {
		f.wrong("supply_v", "A supply of %s V cannot be: above 0 V and up to %d V is possible, or nothing where it was not measured.", written(*v), mostVolts)
	}
	if hz := u.SupplyHz; hz != nil && !(*hz >= 0 && *hz <= mostHertz) {
		f.wrong("supply_hz", "A frequency of %s Hz cannot be: from 0 Hz, which is direct current, to %d Hz is possible.", written(*hz), mostHertz)
	}
	return u
}

// What a bench can have: bounds wide enough for any, that a slip of the decimal sign
// or of the unit mostly leaves.
const (
	mostDistanceM      = 10_000
	coldestC, hottestC = -60, 200
	mostVolts          = 100_000
	mostHertz          = 1_000_000 // of the supply; what the gear makes of it is its own
)

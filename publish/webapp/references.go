package webapp

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"
	"time"

	"lampassay/assay/quantity"
	"lampassay/bench/notebook"
)

// referenceSorts are the usual kinds of reference lamps.
var referenceSorts = []string{"halogen", "line lamp", "flux standard", "intensity standard"}

// referenceValue is what can be known of a reference lamp.
type referenceValue struct{ Key, Label, Unit string }

// referenceValues are the fields for what a certificate states.
var referenceValues = []referenceValue{
	{quantity.Get(quantity.CCT).Key, "Colour temperature", "K"},
	{keyFlux, "Luminous flux", "lm"},
	{"luminous_intensity", "Luminous intensity", "cd"},
	{"voltage", "At a voltage of", "V"},
	{"current", "At a current of", "A"},
	{keyPower, "At a power of", "W"},
}

// nameOfValue is what a value of a reference lamp is called, by its key.
func nameOfValue(key string) string {
	for _, v := range referenceValues {
		if v.Key == key {
			return v.Label
		}
	}
	if def, err := quantity.ByKey(key); err == nil {
		return def.Name
	}
	return key
}

type referenceRow struct {
	*notebook.Reference
	Overdue []string
}

// trusted puts beside reference lamps why they are not to be trusted today.
func (s *Server) trusted(all []*notebook.Reference) (rows []referenceRow) {
	for _, ref := range all {
		rows = append(rows, referenceRow{ref, ref.Overdue(s.day())})
	}
	return rows
}

// references lists the reference lamps, and what is past its time.
func (s *Server) references(w http.ResponseWriter, r *http.Request) error {
	all, err := s.nb.References().List(r.Context(), notebook.Query{Sort: "name"})
	if err != nil {
		return err
	}
	v := s.view(r, "Reference lamps")
	v.Here, v.Follow, v.Seq, v.Data = "instruments", true, s.latest(r.Context()), s.trusted(all.Items)
	return s.show(w, "references.html", v)
}

type referenceFormView struct {
	Reference *notebook.Reference
	New       bool
	Sorts     []string
	Values    []declaredField
	Source    string
}

// referenceForm is the page on which a reference lamp is described.
func (s *Server) referenceForm(w http.ResponseWriter, r *http.Request) error {
	ref, err := s.referenceAsked(r)
	if err != nil {
		return err
	}
	return s.showReferenceForm(w, r, http.StatusOK, ref, nil)
}

// referenceAsked is the reference lamp that an address names, or a new one.
func (s *Server) referenceAsked(r *http.Request) (*notebook.Reference, error) {
	if r.PathValue("id") == "" {
		return new(notebook.Reference), nil
	}
	id, err := idOf(r)
	if err != nil {
		return nil, err
	}
	return s.nb.References().Get(r.Context(), id)
}

// showReferenceForm shows what is kept of a reference lamp, under what was written
// where f could not be taken.
func (s *Server) showReferenceForm(w http.ResponseWriter, r *http.Request, status int, ref *notebook.Reference, f *form) error {
	d := referenceFormView{Reference: ref, New: ref.ID == 0, Sorts: referenceSorts, Source: "certificate"}
	for _, one := range referenceValues {
		field := declaredField{Name: valuePrefix + one.Key, Label: one.Label + ", " + one.Unit}
		if i := slices.IndexFunc(ref.Values, func(v notebook.Declared) bool { return v.Quantity == one.Key }); i >= 0 {
			field.Value, d.Source = plain(ref.Values[i].Value), ref.Values[i].Source
		}
		d.Values = append(d.Values, field)
	}
	title, page := "New reference lamp", "/references/new"
	if !d.New {
		title, page = "Change "+ref.Name, referencePath(ref.ID)+"/edit"
	}
	v := s.view(r, title)
	v.Here, v.Data = "instruments", &d
	v.refused(f, page)
	return s.write(w, status, "referenceform.html", v)
}

// valuePrefix opens the names of the fields for what is known of a reference lamp.
const valuePrefix = "value_"

// referenceSave keeps what the form says: a new reference lamp, or another state of
// one.
func (s *Server) referenceSave(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r, "reference")
	ref, err := s.referenceAsked(r)
	if err != nil {
		return err
	}
	is := *ref
	f.reference(&is, s.day())
	var kept *notebook.Reference
	switch {
	case f.err != nil:
		err = f.err
	case is.ID == 0:
		kept, err = s.nb.References().Add(r.Context(), is)
	default:
		is.Revision = f.revision()
		kept, err = s.nb.References().Update(r.Context(), is)
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showReferenceForm(w, r, status, ref, f) })
	}
	return back(w, r, referencePath(kept.ID), kept.Revision)
}

// reference puts what a form says into a reference lamp.
func (f *form) reference(ref *notebook.Reference, today notebook.Day) {
	ref.Name = f.named("name", "A reference lamp needs a name.")
	ref.Sort, ref.Serial, ref.Notes = f.text("sort"), f.text("serial"), f.text("notes")
	ref.Made = f.pastDay("made", today)
	ref.TrustedDays = f.trustedDays("trusted_days")
	ref.TrustedFor, ref.BurnedHours = f.number("trusted_hours", "the hours of trust"), f.hours("burned_hours")
	if h := ref.TrustedFor; h != nil && *h <= 0 {
		f.wrong("trusted_hours", "A calibration is trusted for %s hours of burning: above 0 is possible, or nothing where burning does not end it.", written(*h))
	}
	ref.Values = slices.DeleteFunc(slices.Clone(ref.Values), func(d notebook.Declared) bool {
		return slices.ContainsFunc(referenceValues, func(one referenceValue) bool { return one.Key == d.Quantity })
	})
	for _, one := range referenceValues {
		name := valuePrefix + one.Key
		v := f.number(name, "this")
		switch {
		case v == nil:
		case *v <= 0:
			f.wrong(name, "%s %s cannot be: above 0 is possible, or nothing where it is not known.", written(*v), one.Unit)
		default:
			ref.Values = append(ref.Values, notebook.Declared{Quantity: one.Key, Value: *v, Unit: one.Unit, Source: f.text("source")})
		}
	}
}

// pastDay returns the day of something that has happened, nil for an empty field.
func (f *form) pastDay(name string, today notebook.Day) *notebook.Day {
	d := f.day(name)
	if d != nil {
		f.past(name, d.Time, today.Time)
	}
	return d
}

// past refuses a day on which nothing can have been done yet, or with no spectrometer.
func (f *form) past(name string, day, today time.Time) {
	switch text := day.Format(time.DateOnly); {
	case text > today.Format(time.DateOnly):
		f.wrong(name, "%s has not come yet: give the day on which it was done, up to today, %s.", text, today.Format(time.DateOnly))
	case day.Year() < 1900:
		f.wrong(name, "%s is too long ago to be meant: give the day on which it was done.", text)
	}
}

// trustedDays returns for how many days a calibration is trusted, 0 for until it is
// replaced.
func (f *form) trustedDays(name string) int {
	days := f.whole(name, "the days of trust")
	if days < 0 || days > notebook.MostTrustedDays {
		f.wrong(name, "A calibration is trusted for %d days: from 1 to %d will do, or nothing for until it is replaced.", days, notebook.MostTrustedDays)
		return 0
	}
	return int(days)
}

type referenceView struct {
	Reference *notebook.Reference
	Facts     [][2]string
	Overdue   []string
	Sittings  []*notebook.Sitting // in which it was used, the newest first
}

// reference shows a reference lamp and where it was used.
func (s *Server) reference(w http.ResponseWriter, r *http.Request) error {
	ref, err := s.referenceAsked(r)
	if err != nil {
		return err
	}
	return s.showReference(w, r, http.StatusOK, ref, nil)
}

// showReference shows a reference lamp; f is a form of the page that could not be
// taken, or nil.
func (s *Server) showReference(w http.ResponseWriter, r *http.Request, status int, ref *notebook.Reference, f *form) (err error) {
	d := referenceView{Reference: ref, Facts: factsOfReference(ref), Overdue: ref.Overdue(s.day())}
	if d.Sittings, err = s.sittingsWith(r.Context(), ref.ID); err != nil {
		return err
	}
	v := s.view(r, ref.Name)
	v.Here, v.Data = "instruments", &d
	v.refused(f, referencePath(ref.ID))
	return s.write(w, status, "reference.html", v)
}

// sittingsWith are the sittings that name a reference lamp.
func (s *Server) sittingsWith(ctx context.Context, ref notebook.ID) ([]*notebook.Sitting, error) {
	all, err := s.nb.Sittings().List(ctx, notebook.Query{Descending: true})
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(all.Items, func(sit *notebook.Sitting) bool { return !slices.Contains(sit.References, ref) }), nil
}

// factsOfReference lists what is known of a reference lamp.
func factsOfReference(ref *notebook.Reference) (facts [][2]string) {
	for _, v := range ref.Values {
		text := written(v.Value) + "\u00a0" + v.Unit
		if v.Source != "" {
			text += ", " + v.Source
		}
		facts = append(facts, [2]string{nameOfValue(v.Quantity), text})
	}
	calibrated := "on a day that is not written down"
	if ref.Made != nil {
		calibrated = ref.Made.Written() + ", trusted until it is replaced"
		if end, ends := ref.Expires(); ends {
			calibrated = ref.Made.Written() + ", trusted until " + end.Written()
		}
	}
	facts = append(facts, [2]string{"Calibrated", calibrated})
	if ref.TrustedFor != nil || ref.BurnedHours != nil {
		burned := "not written down"
		if ref.BurnedHours != nil {
			burned = written(*ref.BurnedHours) + "\u00a0h"
		}
		if ref.TrustedFor != nil {
			burned += fmt.Sprintf(", of %s\u00a0h that it is trusted for", written(*ref.TrustedFor))
		}
		facts = append(facts, [2]string{"Burned since", burned})
	}
	return facts
}

// referenceFile attaches a file to a reference lamp: its certificate or its table.
func (s *Server) referenceFile(w http.ResponseWriter, r *http.Request) error {
	ref, err := s.referenceAsked(r)
	if err != nil {
		return err
	}
	f := formOf(r, "file")
	file, err := s.keptFile(f, "file")
	if err == nil && file == nil {
		f.wrong("file", "No file arrived: choose one first.")
		err = f.err
	}
	var kept *notebook.Reference
	if err == nil {
		is := *ref
		is.Files = append(slices.Clone(ref.Files), *file)
		kept, err = s.nb.References().Update(r.Context(), is)
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showReference(w, r, status, ref, f) })
	}
	return back(w, r, referencePath(ref.ID), kept.Revision)
}

// referenceFileOut takes a file off a reference lamp.
func (s *Server) referenceFileOut(w http.ResponseWriter, r *http.Request) error {
	ref, err := s.referenceAsked(r)
	if err != nil {
		return err
	}
	is := *ref
	if is.Files, err = takeOut(newForm(r), ref.Files, attachmentMark); err != nil {
		return err
	}
	kept, err := s.nb.References().Update(r.Context(), is)
	if err != nil {
		return err
	}
	return back(w, r, referencePath(ref.ID), kept.Revision)
}

// attachmentMark is what a page says of a file: its checksum.
func attachmentMark(a *notebook.Attachment) string { return string(a.SHA256) }

func referencePath(id notebook.ID) string { return fmt.Sprintf("/references/%d", id) }

// keptFile keeps the file that was sent in a field, nil for none. It is handed out as
// bytes to be saved and never shown, so it may be of any type.
func (s *Server) keptFile(f *form, field string) (*notebook.Attachment, error) {
	file, head, err := f.r.FormFile(field)
	if err != nil {
		return nil, nil // none was chosen
	}
	defer file.Close()
	if head.Size == 0 {
		f.wrong(field, "%s is empty: choose the file itself.", labelOf(head.Filename))
		return nil, f.err
	}
	kept, err := s.nb.Keep(f.r.Context(), cmp.Or(labelOf(head.Filename), "file"), "application/octet-stream", file)
	if err != nil {
		return nil, err
	}
	return &kept, nil
}

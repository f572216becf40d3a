package webapp

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"lampassay/bench/notebook"
)

type sittingFormView struct {
	Lamp        *notebook.Lamp
	Family      *family
	Steps       []string
	Instruments []*notebook.Instrument
	Today       string
}

// sittingForm begins a sitting: first what to beware of.
func (s *Server) sittingForm(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	l, err := s.nb.Lamps().Get(r.Context(), id)
	if err != nil {
		return err
	}
	all, err := s.nb.Instruments().List(r.Context(), notebook.Query{})
	if err != nil {
		return err
	}
	f := familyOf(l.Technology)
	v := s.view(r, "Sitting with "+l.Name)
	v.Here, v.Data = "", &sittingFormView{Lamp: l, Family: f, Steps: f.checklist(), Instruments: all.Items, Today: s.now().Format(time.DateOnly)}
	return s.show(w, "sittingform.html", v)
}

// sittingSave begins it.
func (s *Server) sittingSave(w http.ResponseWriter, r *http.Request) error {
	f := newForm(r)
	lamp := f.id("lamp")
	set := setUpOf(f)
	if f.err != nil {
		return f.err
	}
	l, err := s.nb.Lamps().Get(r.Context(), lamp)
	if err != nil {
		return err
	}
	sit := notebook.Sitting{Lamp: lamp, Title: f.text("title"), Started: s.now().UTC(), SetUp: set, Notes: f.text("notes")}
	if sit.Title == "" {
		sit.Title = s.now().Format("Sitting of 2 January 2006")
	}
	for _, step := range familyOf(l.Technology).checklist() {
		sit.Checklist = append(sit.Checklist, notebook.Step{Text: step})
	}
	for _, text := range r.PostForm["instrument"] {
		id, err := parseID(text)
		if err != nil {
			return err
		}
		sit.Instruments = append(sit.Instruments, id)
	}
	kept, err := s.nb.Sittings().Add(r.Context(), sit)
	if err != nil {
		return err
	}
	return back(w, r, sittingPath(kept.ID), kept.Revision)
}

func setUpOf(f *form) notebook.SetUp {
	return notebook.SetUp{
		Geometry: f.text("geometry"), DistanceM: f.number("distance_m", "the distance"), Position: f.text("position"),
		AmbientC: f.number("ambient_c", "the temperature"), Supply: f.text("supply"), SupplyV: f.number("supply_v", "the voltage"),
		SupplyHz: f.number("supply_hz", "the frequency"), PowerAt: f.text("power_at"), Remarks: f.text("remarks"),
	}
}

func sittingPath(id notebook.ID) string { return "/sittings/" + strconv.FormatInt(int64(id), 10) }

type sittingView struct {
	Sitting     *notebook.Sitting
	Lamp        *notebook.Lamp
	Family      *family
	Facts       [][2]string
	Tally       notebook.Tally
	Latest      []*notebook.Reading // the newest first
	Instruments []*notebook.Instrument
	Overdue     []string
	Assays      []*notebook.Assay
	RunUp       *runUpView
	HasSpectrum bool
	Desk        *deskView
	Undone      int // steps of the checklist still open
}

// newest is how many readings the page lists.
const newest = 12

// sitting shows a sitting as it happens.
func (s *Server) sitting(w http.ResponseWriter, r *http.Request) error {
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	ctx := r.Context()
	d := sittingView{Sitting: sit, Facts: factsOf(&sit.SetUp)}
	if d.Lamp, err = s.nb.Lamps().Get(ctx, sit.Lamp); err != nil {
		return err
	}
	d.Family = familyOf(d.Lamp.Technology)
	if d.Tally, err = s.nb.Tally(ctx, sit.ID); err != nil {
		return err
	}
	after := max(d.Tally.Readings-newest, 0)
	for reading, err := range s.nb.Readings(ctx, notebook.Readings{Sitting: sit.ID, After: after}) {
		if err != nil {
			return err
		}
		d.Latest = append(d.Latest, reading)
	}
	slices.Reverse(d.Latest)
	today := notebook.Day{Time: s.now()}
	for _, id := range sit.Instruments {
		in, err := s.nb.Instruments().Get(ctx, id)
		if err != nil {
			return err
		}
		d.Instruments = append(d.Instruments, in)
		for _, text := range in.Overdue(today) {
			d.Overdue = append(d.Overdue, in.Name+": "+text+".")
		}
	}
	assays, err := s.nb.Assays().List(ctx, notebook.Query{Sitting: sit.ID, Descending: true})
	if err != nil {
		return err
	}
	d.Assays = assays.Items
	c, err := s.course(ctx, sit)
	if err != nil {
		return err
	}
	d.Desk = s.deskOf(sit.ID)
	d.HasSpectrum, d.RunUp = c.spectrumN > 0, runUpOf(c, ruleOf(r.URL.Query().Get("rule")))
	for _, step := range sit.Checklist {
		if step.Done == nil {
			d.Undone++
		}
	}
	v := s.view(r, cmpTitle(sit.Title, d.Lamp.Name))
	v.Here, v.Seq, v.Follow, v.Data = "", s.latest(ctx), true, &d
	v.Styles, v.Scripts = []string{staticPath("uplot.css")}, []string{staticPath("uplot.js"), staticPath("sitting.js")}
	return s.show(w, "sitting.html", v)
}

func cmpTitle(title, lamp string) string {
	if title == "" {
		return "Sitting with " + lamp
	}
	return title + ", " + lamp
}

func staticPath(name string) string { return "/static/" + name + "?" + assets()[name].sum[:12] }

// factsOf lists what is known of a set-up.
func factsOf(u *notebook.SetUp) (facts [][2]string) {
	add := func(name, value string) {
		if value != "" {
			facts = append(facts, [2]string{name, value})
		}
	}
	unit := func(v *float64, unit string) string {
		if v == nil {
			return ""
		}
		return plain(*v) + "\u00a0" + unit
	}
	add("Geometry", u.Geometry)
	add("Distance", unit(u.DistanceM, "m"))
	add("Burning position", u.Position)
	add("Air", unit(u.AmbientC, "°C"))
	add("Supply", u.Supply)
	add("Voltage", unit(u.SupplyV, "V"))
	add("Frequency", unit(u.SupplyHz, "Hz"))
	add("Power read at", u.PowerAt)
	add("Remarks", u.Remarks)
	return facts
}

func (s *Server) sittingAsked(r *http.Request) (*notebook.Sitting, error) {
	id, err := idOf(r)
	if err != nil {
		return nil, err
	}
	return s.nb.Sittings().Get(r.Context(), id)
}

// sittingStep ticks a line of the checklist, or takes the tick back.
func (s *Server) sittingStep(w http.ResponseWriter, r *http.Request) error {
	return s.changeSitting(w, r, func(sit *notebook.Sitting, f *form) error {
		i := f.whole("step", "a step")
		if i < 0 || int(i) >= len(sit.Checklist) {
			return bad("The checklist has no such step.")
		}
		step := &sit.Checklist[i]
		if step.Done == nil {
			at := s.now().UTC()
			step.Done = &at
		} else {
			step.Done = nil
		}
		return nil
	})
}

// sittingStrike sets readings aside, with the reason.
func (s *Server) sittingStrike(w http.ResponseWriter, r *http.Request) error {
	return s.changeSitting(w, r, func(sit *notebook.Sitting, f *form) error {
		k := notebook.Strike{From: f.whole("from", "a reading"), To: f.whole("to", "a reading"), Reason: f.text("reason")}
		if k.To == 0 {
			k.To = k.From
		}
		sit.Struck = append(sit.Struck, k)
		return nil
	})
}

// sittingEnd ends a sitting, or goes on with it.
func (s *Server) sittingEnd(w http.ResponseWriter, r *http.Request) error {
	return s.changeSitting(w, r, func(sit *notebook.Sitting, _ *form) error {
		if err := s.desk.halt(sit.ID); err != nil {
			return err
		}
		if sit.Ended != nil {
			sit.Ended = nil
			return nil
		}
		at := s.now().UTC()
		sit.Ended = &at
		return nil
	})
}

func (s *Server) changeSitting(w http.ResponseWriter, r *http.Request, change func(*notebook.Sitting, *form) error) error {
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	f := newForm(r)
	if err := change(sit, f); err != nil {
		return err
	}
	if f.err != nil {
		return f.err
	}
	kept, err := s.nb.Sittings().Update(r.Context(), *sit)
	if err != nil {
		return err
	}
	return back(w, r, sittingPath(sit.ID), kept.Revision)
}

// enterable are what can be entered by hand, with their units.
var enterable = []struct{ Key, Label, Unit string }{
	{keyFlux, "Luminous flux", "lm"},
	{keyPower, "Power", "W"},
	{keyPowerLamp, "Power at the lamp", "W"},
	{"illuminance", "Illuminance", "lx"},
	{"voltage", "Voltage", "V"},
	{"current", "Current", "A"},
	{"temperature", "Temperature", "°C"},
}

// sittingReading records what was read off by eye, or a mark.
func (s *Server) sittingReading(w http.ResponseWriter, r *http.Request) error {
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	if sit.Ended != nil {
		return bad("This sitting has ended: go on with it first, or begin another.")
	}
	f := newForm(r)
	reading := notebook.Reading{Channel: channelEntered, Note: f.text("note")}
	for _, e := range enterable {
		if v := f.number(e.Key, "the "+e.Label); v != nil {
			reading.Values = append(reading.Values, notebook.Value{Key: e.Key, V: v, Unit: e.Unit})
		}
	}
	switch {
	case f.err != nil:
		return f.err
	case len(reading.Values) == 0 && reading.Note == "":
		return bad("There is nothing to record: give a number or a note.")
	case len(reading.Values) == 0:
		reading.Channel = channelMark
	}
	n, err := s.enterReading(r.Context(), sit.ID, reading)
	if err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("%s?recorded=%d#live", sittingPath(sit.ID), n), http.StatusSeeOther)
	return nil
}

// sittingAssay computes the assay of a sitting.
func (s *Server) sittingAssay(w http.ResponseWriter, r *http.Request) error {
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	f := newForm(r)
	class := f.text("class")
	if class == "" {
		class = usualClass
	}
	e, err := s.gather(r.Context(), sit, f.text("projection"), class)
	if err != nil {
		return err
	}
	a, err := s.keepAssay(r.Context(), sit, e)
	if err != nil {
		return err
	}
	return back(w, r, fmt.Sprintf("/assays/%d", a.ID), a.Revision)
}

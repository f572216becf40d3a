package webapp

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
)

type sittingFormView struct {
	Lamp        *notebook.Lamp
	Family      *family
	Instruments []*notebook.Instrument
	PowersAt    []choice
}

// sittingForm begins a sitting: first what to beware of.
func (s *Server) sittingForm(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	return s.showSittingForm(w, r, http.StatusOK, id, nil)
}

func (s *Server) showSittingForm(w http.ResponseWriter, r *http.Request, status int, lamp notebook.ID, f *form) error {
	l, err := s.nb.Lamps().Get(r.Context(), lamp)
	if err != nil {
		return err
	}
	all, err := s.nb.Instruments().List(r.Context(), notebook.Query{})
	if err != nil {
		return err
	}
	v := s.view(r, "Sitting with "+l.Name)
	v.Here, v.Data = "", &sittingFormView{
		Lamp: l, Family: familyOfLamp(l), Instruments: all.Items,
		PowersAt: []choice{{powerAtMains, "the mains"}, {powerAtLamp, "the lamp’s terminals"}},
	}
	v.refused(f, lampPath(lamp)+"/sit")
	return s.write(w, status, "sittingform.html", v)
}

// sittingSave begins it.
func (s *Server) sittingSave(w http.ResponseWriter, r *http.Request) error {
	f := formOf(r, "sitting")
	l, err := s.nb.Lamps().Get(r.Context(), f.id("lamp"))
	if err != nil {
		return err
	}
	sit := notebook.Sitting{Lamp: l.ID, Title: f.text("title"), Started: s.now().UTC(), SetUp: setUpOf(f), Notes: f.text("notes")}
	if sit.Title == "" {
		sit.Title = s.now().Format("Sitting of 2 January 2006")
	}
	for _, step := range familyOfLamp(l).checklist() {
		sit.Checklist = append(sit.Checklist, notebook.Step{Text: step})
	}
	for _, text := range r.PostForm["instrument"] {
		id, err := parseID(text)
		if err != nil {
			return err
		}
		sit.Instruments = append(sit.Instruments, id)
	}
	var kept *notebook.Sitting
	if err = f.err; err == nil {
		kept, err = s.nb.Sittings().Add(r.Context(), sit)
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showSittingForm(w, r, status, l.ID, f) })
	}
	return back(w, r, sittingPath(kept.ID), kept.Revision)
}

func setUpOf(f *form) notebook.SetUp {
	u := notebook.SetUp{
		Geometry: f.text("geometry"), DistanceM: f.number("distance_m", "the distance"), Position: f.text("position"),
		AmbientC: f.number("ambient_c", "the temperature"), Supply: f.text("supply"), SupplyV: f.number("supply_v", "the voltage"),
		SupplyHz: f.number("supply_hz", "the frequency"), PowerAt: f.text("power_at"), Remarks: f.text("remarks"),
	}
	if d := u.DistanceM; d != nil && *d <= 0 {
		f.wrong("distance_m", "A distance of %s m cannot be: above 0 m is possible, or nothing where none was measured.", plain(*d))
	}
	if t := u.AmbientC; t != nil && *t < absoluteZeroC {
		f.wrong("ambient_c", "Air of %s °C cannot be: nothing is colder than %g °C.", plain(*t), absoluteZeroC)
	}
	if hz := u.SupplyHz; hz != nil && *hz < 0 {
		f.wrong("supply_hz", "A frequency of %s Hz cannot be: 0 is a supply of direct current.", plain(*hz))
	}
	return u
}

const absoluteZeroC = -273.15

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
	Rule        ruleView
	Assay       *assayForm // nil where there is no spectrum
	Enterable   []enterableField
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
	return s.showSitting(w, r, http.StatusOK, sit, nil)
}

// showSitting shows a sitting; f is a form of the page that could not be taken, or
// nil.
func (s *Server) showSitting(w http.ResponseWriter, r *http.Request, status int, sit *notebook.Sitting, f *form) (err error) {
	ctx := r.Context()
	d := sittingView{Sitting: sit, Facts: factsOf(&sit.SetUp), Rule: ruleOf(sit), Enterable: enterable}
	if d.Lamp, err = s.nb.Lamps().Get(ctx, sit.Lamp); err != nil {
		return err
	}
	d.Family = familyOfLamp(d.Lamp)
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
	if d.Assay, err = s.assayFormOf(ctx, sit); err != nil {
		return err
	}
	d.Desk = s.deskOf(sit.ID, f)
	d.RunUp = runUpOf(c, live.RuleOf(sit))
	for _, step := range sit.Checklist {
		if step.Done == nil {
			d.Undone++
		}
	}
	v := s.view(r, cmpTitle(sit.Title, d.Lamp.Name))
	v.Here, v.Seq, v.Follow, v.Data = "", s.latest(ctx), true, &d
	v.Styles, v.Scripts = []string{staticPath("uplot.css")}, []string{staticPath("uplot.js"), staticPath("sitting.js")}
	v.refused(f, sittingPath(sit.ID))
	return s.write(w, status, "sitting.html", v)
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
	return s.changeSitting(w, r, "", func(sit *notebook.Sitting, f *form) error {
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
	return s.changeSitting(w, r, "strike", func(sit *notebook.Sitting, f *form) error {
		tally, err := s.nb.Tally(r.Context(), sit.ID)
		if err != nil {
			return err
		}
		k := notebook.Strike{From: f.whole("from", "a reading"), To: f.whole("to", "a reading"), Reason: f.needed("reason", "Say why they are set aside: it stands beside them from then on.")}
		if k.To == 0 {
			k.To = k.From
		}
		switch {
		case k.From < 1 || k.From > tally.Readings:
			f.wrong("from", "There is no reading of that number: give one from 1 to %d.", tally.Readings)
		case k.To < k.From || k.To > tally.Readings:
			f.wrong("to", "To reading %d cannot be: give one from %d to %d, or nothing for reading %d alone.", k.To, k.From, tally.Readings, k.From)
		}
		sit.Struck = append(sit.Struck, k)
		return nil
	})
}

// sittingEnd ends a sitting, or goes on with it.
func (s *Server) sittingEnd(w http.ResponseWriter, r *http.Request) error {
	return s.changeSitting(w, r, "", func(sit *notebook.Sitting, _ *form) error {
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

// changeSitting changes a sitting as a form of this name says; "" is one of buttons
// alone, whose faults are shown by themselves.
func (s *Server) changeSitting(w http.ResponseWriter, r *http.Request, name string, change func(*notebook.Sitting, *form) error) error {
	sit, err := s.sittingAsked(r)
	if err != nil {
		return err
	}
	f, is := formOf(r, name), *sit
	is.Checklist, is.Struck = slices.Clone(sit.Checklist), slices.Clone(sit.Struck)
	if err = change(&is, f); err == nil {
		err = f.err
	}
	var kept *notebook.Sitting
	if err == nil {
		kept, err = s.nb.Sittings().Update(r.Context(), is)
	}
	switch {
	case err != nil && name == "":
		return err
	case err != nil:
		return s.again(f, err, func(status int) error { return s.showSitting(w, r, status, sit, f) })
	}
	return back(w, r, sittingPath(sit.ID), kept.Revision)
}

// enterableField is a number that can be entered by hand, with its unit.
type enterableField struct{ Key, Label, Unit string }

// enterable are the numbers that can be entered by hand.
var enterable = []enterableField{
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
	f := formOf(r, "reading")
	reading := f.reading()
	if sit.Ended != nil {
		f.wrong("", "This sitting has ended: go on with it first, or begin another.")
	}
	var n int64
	if err = f.err; err == nil {
		n, err = s.enterReading(r.Context(), sit.ID, reading)
	}
	if err != nil {
		return s.again(f, err, func(status int) error { return s.showSitting(w, r, status, sit, f) })
	}
	http.Redirect(w, r, fmt.Sprintf("%s?recorded=%d#live", sittingPath(sit.ID), n), http.StatusSeeOther)
	return nil
}

// reading is what a form enters by hand: numbers, or a note alone, which is a mark.
func (f *form) reading() notebook.Reading {
	reading := notebook.Reading{Channel: channelEntered, Note: f.text("note")}
	for _, e := range enterable {
		if v := f.number(e.Key, "the "+strings.ToLower(e.Label)); v != nil {
			reading.Values = append(reading.Values, notebook.Value{Key: e.Key, V: v, Unit: e.Unit})
		}
	}
	switch {
	case len(reading.Values) > 0 || f.err != nil:
	case reading.Note == "":
		f.wrong(enterable[0].Key, "There is nothing to record: give a number or a note.")
	default:
		reading.Channel = channelMark
	}
	return reading
}

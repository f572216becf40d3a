package webapp

import (
	"fmt"
	"net/http"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
)

func sittingPath(id notebook.ID) string { return "/sittings/" + strconv.FormatInt(int64(id), 10) }

type sittingView struct {
	Sitting     *notebook.Sitting
	Lamp        *notebook.Lamp
	Family      *family
	Facts       [][2]string
	Tally       notebook.Tally
	Latest      []*notebook.Reading // the newest first
	Instruments []*notebook.Instrument
	References  []*notebook.Reference
	Overdue     []overdue
	Photos      []notebook.Attachment // of the set-up
	Attached    []notebook.Attachment // the other files
	Assays      []*notebook.Assay
	RunUp       *runUpView
	Drawable    bool // the run-up has spectra enough for pictures
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
	d.Photos, d.Attached = apart(sit.Files)
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
	if d.Instruments, d.References, d.Overdue, err = s.madeWith(ctx, sit); err != nil {
		return err
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
	d.Drawable = len(s.courses.at(s.nb, sit.ID).Spectra("")) > 1
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
		return written(*v) + "\u00a0" + unit
	}
	add("Geometry", u.Geometry)
	add("Distance", unit(u.DistanceM, "m"))
	add("Burning position", u.Position)
	add("Air", unit(u.AmbientC, "°C"))
	add("Supply", u.Supply)
	add("Voltage", unit(u.SupplyV, "V"))
	add("Frequency", unit(u.SupplyHz, "Hz"))
	add("Power read at", worded(powersAt, u.PowerAt))
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

// sittingStep ticks a line of the checklist, or takes the tick back where the form says
// "no": not the other of what is kept, which another browser may have changed since.
func (s *Server) sittingStep(w http.ResponseWriter, r *http.Request) error {
	return s.changeSitting(w, r, "", func(sit *notebook.Sitting, f *form) error {
		i := f.whole("step", "a step")
		if i < 0 || int(i) >= len(sit.Checklist) {
			return bad("The checklist has no such step.")
		}
		switch step := &sit.Checklist[i]; {
		case f.text("done") == "no":
			step.Done = nil
		case step.Done == nil:
			at := s.now().UTC()
			step.Done = &at
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

// sittingEnd ends a sitting, or goes on with it where the form says so.
func (s *Server) sittingEnd(w http.ResponseWriter, r *http.Request) error {
	return s.changeSitting(w, r, "", func(sit *notebook.Sitting, f *form) error {
		if f.text("do") == "go on" {
			sit.Ended = nil
			return nil
		}
		if err := s.desk.halt(sit.ID); err != nil {
			return err
		}
		if sit.Ended == nil {
			at := s.now().UTC()
			sit.Ended = &at
		}
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
	if err == nil && reflect.DeepEqual(is, *sit) { // somebody else was faster
		http.Redirect(w, r, sittingPath(sit.ID)+placeOf(f), http.StatusSeeOther)
		return nil
	}
	if err == nil {
		kept, err = s.nb.Sittings().Update(r.Context(), is)
	}
	switch {
	case err != nil && name == "":
		return err
	case err != nil:
		return s.again(f, err, func(status int) error { return s.showSitting(w, r, status, sit, f) })
	}
	return back(w, r, sittingPath(sit.ID)+placeOf(f), kept.Revision)
}

// placeOf is where on its page a form stands, as the end of an address: whoever works by
// keyboard goes on from there.
func placeOf(f *form) string {
	switch f.name {
	case "strike":
		return "#record"
	case "rule", "numbers":
		return "#runup"
	}
	if f.text("step") != "" {
		return fmt.Sprintf("#step%d", f.whole("step", "a step"))
	}
	return ""
}

// powersAt are where watts can be read.
var powersAt = []choice{{powerAtMains, "the mains"}, {powerAtLamp, "the lamp’s terminals"}}

// enterableField is a number that can be entered by hand, with its unit and the range
// that it can have; a slip of the hand mostly leaves it.
type enterableField struct {
	Key, Label, Unit string
	least, most      float64
}

// enterable are the numbers that can be entered by hand.
var enterable = []enterableField{
	{keyFlux, "Luminous flux", "lm", 0, 1e9},
	{keyPower, "Power", "W", 0, 1e6},
	{keyPowerLamp, "Power at the lamp", "W", 0, 1e6},
	{"illuminance", "Illuminance", "lx", 0, 1e7},
	{"voltage", "Voltage", "V", -1e5, 1e5},
	{"current", "Current", "A", -1e4, 1e4},
	{"temperature", "Temperature", "°C", coldestC, 2000}, // of a bulb, too
}

// labelOfKey is what the page calls a value that is kept under this key.
func labelOfKey(key string) string {
	for _, e := range enterable {
		if e.Key == key {
			return e.Label
		}
	}
	return key
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
			if *v < e.least || *v > e.most {
				f.wrong(e.Key, "%s %s %s cannot be: from %s to %s %s is possible.", e.Label, written(*v), e.Unit, written(e.least), written(e.most), e.Unit)
			}
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

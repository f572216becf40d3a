package notebook

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"
)

var nine = time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)

func day(m time.Month, d int) Day { return Day{Time: time.Date(2026, m, d, 0, 0, 0, 0, time.UTC)} }

func TestRecordsThatCannotBe(t *testing.T) {
	nan, less := math.NaN(), -1.0
	early := nine.Add(-time.Hour)
	sum := SumOf(nil)
	for says, r := range map[string]Record{
		"the lamp has no name":                &Lamp{Name: " "},
		"has burned -1 hours":                 &Lamp{Name: "x", BurnedHours: &less},
		"a declared value of x":               &Lamp{Name: "x", Declared: []Declared{{Quantity: "cct", Value: nan}}},
		"the instrument has no name":          &Instrument{},
		"a calibration of x":                  &Instrument{Name: "x", Calibrations: []Calibration{{What: "scale"}}},
		"the reference lamp has no name":      &Reference{},
		"belongs to no lamp":                  &Sitting{Started: nine},
		"no beginning":                        &Sitting{Lamp: 1},
		"before it begins":                    &Sitting{Lamp: 1, Started: nine, Ended: &early},
		"with a reason":                       &Sitting{Lamp: 1, Started: nine, Struck: []Strike{{From: 1, To: 2}}},
		"a number of the set-up":              &Sitting{Lamp: 1, Started: nine, SetUp: SetUp{AmbientC: &nan}},
		"has the name of a published one":     &Sitting{Lamp: 1, Started: nine, Rule: &Rule{WindowS: 60, Spread: 0.01}},
		"or the name of the one":              &Sitting{Lamp: 1, Started: nine, Rule: &Rule{Name: "a", BegunFrom: "b", WindowS: 60, Spread: 0.01}},
		"has a time of -1 s":                  &Sitting{Lamp: 1, Started: nine, Rule: &Rule{Name: "a", BurningS: -1, WindowS: 60, Spread: 0.01}},
		"has a time of NaN s":                 &Sitting{Lamp: 1, Started: nine, Rule: &Rule{Name: "a", GiveUpS: nan, WindowS: 60, Spread: 0.01}},
		"looks back on 0 s":                   &Sitting{Lamp: 1, Started: nine, Rule: &Rule{Name: "a", Spread: 0.01}},
		"allows a spread of 1":                &Sitting{Lamp: 1, Started: nine, Rule: &Rule{Name: "a", WindowS: 60, Spread: 1}},
		"names no input":                      &Assay{Lamp: 1, Made: nine, Record: []byte("{}")},
		"is no JSON":                          &Assay{Lamp: 1, Made: nine, Inputs: []Input{{SHA256: sum}}, Record: []byte("{")},
		"has no checksum":                     &Assay{Lamp: 1, Made: nine, Inputs: []Input{{SHA256: "x"}}, Record: []byte("{}")},
		"2 to 8 lamps":                        &Comparison{Assays: []ID{1}},
		"the publication has no title":        &Publication{},
		"names no assay":                      &Publication{Title: "x", Made: nine},
		"an erratum needs a date and a text":  &Publication{Title: "x", Made: nine, Assays: []ID{1}, Errata: []Erratum{{}}},
		"trusted for -1 days":                 &Reference{Name: "x", TrustedDays: -1},
		"from 1 to 36500 is possible":         &Reference{Name: "x", TrustedDays: 36501},
		"trusted for -1 hours":                &Reference{Name: "x", TrustedFor: &less},
		"burned NaN hours since":              &Reference{Name: "x", BurnedHours: &nan},
		"a value of x needs":                  &Reference{Name: "x", Values: []Declared{{Value: 1}}},
		"days of trust from 0 to 36500":       &Instrument{Name: "x", Calibrations: []Calibration{{What: "scale", Made: day(1, 1), TrustedDays: 99999999999}}},
		"the assay has no date":               &Assay{Lamp: 1},
		"the assay belongs to no lamp":        &Assay{},
		"the publication has no date":         &Publication{Title: "x"},
		"needs what was calibrated, the day,": &Instrument{Name: "x", Calibrations: []Calibration{{Made: day(1, 1)}}},
	} {
		err := r.Check()
		if CodeOf(err) != Invalid || !strings.Contains(err.Error(), says) {
			t.Errorf("%T: %v, want %q", r, err, says)
			continue
		}
		// A page gives a sentence a capital, which a name must not get.
		if strings.HasPrefix(err.Error(), "notebook: x ") {
			t.Errorf("%T: the sentence begins with the record's own name: %v", r, err)
		}
	}
}

func TestEveryKindHasItsRecord(t *testing.T) {
	for _, k := range Kinds() {
		r := New(k)
		if r == nil || r.Kind() != k {
			t.Errorf("the record of the kind %s is %T", k, r)
			continue
		}
		body, err := Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		again, err := Unmarshal(k, body)
		if err != nil {
			t.Errorf("an empty %s cannot be read: %v", k, err)
			continue
		}
		if second, err := Marshal(again); err != nil || string(second) != string(body) {
			t.Errorf("an empty %s is %s and then %s (%v)", k, body, second, err)
		}
	}
	if _, err := Unmarshal("bulb", []byte("{}")); CodeOf(err) != Damaged {
		t.Errorf("a kind that is none: %v", err)
	}
	if _, err := Unmarshal(KindLamp, []byte(`{"name":"x","shape":"round"}`)); CodeOf(err) != Damaged {
		t.Errorf("a field that is none: %v", err)
	}
}

func TestACalibrationIsTrustedThroughItsLastDay(t *testing.T) {
	in := Instrument{Name: "meter", Calibrations: []Calibration{
		{What: "scale", Made: day(1, 1), TrustedDays: 10},
		{What: "scale", Made: day(3, 1), TrustedDays: 31},
		{What: "zero", Made: day(1, 1)}, // until it is replaced
	}}
	for _, c := range []struct {
		today   Day
		overdue int
	}{{day(3, 2), 0}, {day(4, 1), 0}, {Day{Time: day(4, 1).Add(10 * time.Hour)}, 0}, {day(4, 2), 1}} {
		if got := in.Overdue(c.today); len(got) != c.overdue {
			t.Errorf("on %s overdue is %q, want %d", c.today.Format(time.DateOnly), got, c.overdue)
		}
	}
}

func TestAReferenceLampIsTrustedThroughItsLastDayAndHour(t *testing.T) {
	made, fifty, more := day(1, 1), 50.0, 50.5
	lamp := Reference{Name: "halogen", Made: &made, TrustedDays: 31, TrustedFor: &fifty, BurnedHours: &fifty}
	late := lamp
	late.BurnedHours = &more
	for _, c := range []struct {
		lamp  Reference
		today Day
		says  []string
	}{
		{lamp, day(2, 1), nil},
		{lamp, Day{Time: day(2, 1).Add(23 * time.Hour)}, nil}, // a day has no hour
		{lamp, day(2, 2), []string{"trusted until 1\u00a0Feb\u00a02026"}},
		{late, day(2, 1), []string{"for 50 h of burning, and it has burned 50.5 h"}},
		{late, day(3, 1), []string{"trusted until", "burned 50.5 h"}},
		{lamp, Day{Time: day(1, 1).AddDate(0, 0, -1)}, []string{"which has not come yet"}},
		{Reference{Name: "line lamp", TrustedDays: 31}, day(3, 1), nil}, // of no day
		{Reference{Name: "line lamp", Made: &made}, day(3, 1), nil},     // until it is replaced
	} {
		got := c.lamp.Overdue(c.today)
		if len(got) != len(c.says) {
			t.Errorf("on %s: %q, want %q", c.today.Format(time.DateOnly), got, c.says)
			continue
		}
		for i, says := range c.says {
			if !strings.Contains(got[i], says) {
				t.Errorf("on %s: %q, want %q", c.today.Format(time.DateOnly), got[i], says)
			}
		}
	}
}

func TestAStrikeCoversBothItsEnds(t *testing.T) {
	s := Sitting{Struck: []Strike{{From: 3, To: 5, Reason: "door"}}}
	for n, want := range map[int64]string{2: "", 3: "door", 5: "door", 6: ""} {
		if got := s.StruckOut(n); got != want {
			t.Errorf("reading %d is set aside for %q, want %q", n, got, want)
		}
	}
}

// The sums are part of the format: these were computed apart from this
// program, from the bytes that docs/format/notebook.md describes.
func TestTheChainIsWhatTheFormatSays(t *testing.T) {
	w := 35.5
	first := Reading{At: nine, Channel: "mains", Values: []Value{{Key: "power", V: &w, Unit: "W"}}}
	second := Reading{At: nine.Add(time.Second), Channel: "s", Curve: &Curve{Quantity: "counts", Axis: []float64{400, 500}, Samples: []float64{1, math.NaN()}}}
	line, err := first.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if want := `{"at":1795597200000000,"channel":"mains","values":[{"key":"power","v":35.5,"unit":"W"}]}`; string(line) != want {
		t.Errorf("the line is %s, want %s", line, want)
	}
	one := Link([32]byte{}, 1, line, nil, nil)
	line, err = second.Encode()
	if err != nil {
		t.Fatal(err)
	}
	two := Link(one, 2, line, Bytes(nil, second.Curve.Axis), Bytes(nil, second.Curve.Samples))
	for _, c := range []struct {
		got  [32]byte
		want Sum
	}{{one, "660ceff101c00db84747d09c70ec0651420889aed722cb5c26018c9522432c8b"}, {two, "d4179f32cfca7ceaa63c6ed0e36dc40e7d3064d292db6ef8368275abfdb0660a"}} {
		if HexOf(c.got) != c.want {
			t.Errorf("the chain is %s, want %s", HexOf(c.got), c.want)
		}
	}
}

func TestCodesSurviveWrapping(t *testing.T) {
	inner := errors.New("no room")
	err := Errorf(Full, "the disk: %w", inner)
	if CodeOf(errors.Join(nil, err)) != Full || !errors.Is(err, inner) || err.Error() != "notebook: the disk: no room" {
		t.Errorf("%v has the code %d", err, CodeOf(err))
	}
	if CodeOf(inner) != Internal || CodeOf(nil) != Internal {
		t.Error("an error without a code has one")
	}
}

func TestASentenceNamesNoPackageWithin(t *testing.T) {
	inner := Errorf(Damaged, "the lamp cannot be read")
	err := Errorf(Invalid, "lamp/1.json: %w", inner)
	if err.Text != "lamp/1.json: the lamp cannot be read" || !errors.Is(err, inner) {
		t.Errorf("%q", err.Text)
	}
	if _, err := Unmarshal(KindLamp, []byte(`{"colour": 1}`)); err == nil || err.Error() != `notebook: the lamp cannot be read: unknown field "colour"` {
		t.Errorf("%v", err)
	}
}

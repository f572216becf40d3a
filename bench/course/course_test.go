package course

import (
	"fmt"
	"math"
	"path/filepath"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lampassay/bench/notebook"
	"lampassay/bench/notebook/sqlite"
)

var nine = time.Date(2026, 11, 28, 9, 0, 0, 0, time.UTC)

// bench is a notebook with one sitting.
type bench struct {
	testing.TB
	nb  *sqlite.Store
	sit *notebook.Sitting
}

func newBench(t testing.TB) *bench {
	t.Helper()
	nb, err := sqlite.Create(t.Context(), filepath.Join(t.TempDir(), "test.notebook"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { nb.Close() })
	if _, err := nb.Lamps().Add(t.Context(), notebook.Lamp{Name: "Yard lamp"}); err != nil {
		t.Fatal(err)
	}
	b := &bench{t, nb, nil}
	b.sitDown()
	return b
}

// sitDown begins another sitting.
func (b *bench) sitDown() {
	b.Helper()
	var err error
	if b.sit, err = b.nb.Sittings().Add(b.Context(), notebook.Sitting{Lamp: 1, Started: nine}); err != nil {
		b.Fatal(err)
	}
}

func (b *bench) record(readings ...notebook.Reading) {
	b.Helper()
	if _, err := b.nb.Append(b.Context(), b.sit.ID, readings); err != nil {
		b.Fatal(err)
	}
}

// course reads what there is with a record of its own.
func (b *bench) course() *Course {
	b.Helper()
	return b.extend(New(b.nb, b.sit.ID))
}

func (b *bench) extend(r *Record) *Course {
	b.Helper()
	if _, err := r.Extend(b.Context()); err != nil {
		b.Fatal(err)
	}
	return r.Course(b.sit)
}

// lux is what a light meter said so many seconds after nine.
func lux(seconds float64, v float64, unit string) notebook.Reading {
	return notebook.Reading{At: nine.Add(time.Duration(seconds * 1e9)), Channel: "lux", Values: []notebook.Value{{Key: "illuminance", V: &v, Unit: unit}}}
}

func note(seconds float64, text string) notebook.Reading {
	return notebook.Reading{At: nine.Add(time.Duration(seconds * 1e9)), Channel: "mark", Note: text}
}

func spectrumAt(seconds, level float64) notebook.Reading {
	c := notebook.Curve{Quantity: "relative"}
	for nm := 380.0; nm <= 780; nm += 5 {
		c.Axis, c.Samples = append(c.Axis, nm), append(c.Samples, level)
	}
	return notebook.Reading{At: nine.Add(time.Duration(seconds * 1e9)), Channel: "eye", Curve: &c}
}

func TestAMeterThatChangesItsRangeIsOneLine(t *testing.T) {
	b := newBench(t)
	b.record(lux(0, 994, "lx"), lux(1, 1.001, "klx"), lux(2, 93, "fc"), lux(3, 7, "mm"), lux(4, 8, "mm"))
	c := b.course()
	if len(c.Lines) != 1 {
		t.Fatalf("%d lines", len(c.Lines))
	}
	l := c.Lines[0]
	// 1 fc = 10.76391 lx: NIST SP 811 (2008), appendix B.8.
	for i, want := range []float64{994, 1001, 93 * 10.76391} {
		if math.Abs(l.Values[i]-want) > 1e-5*want {
			t.Errorf("reading %d is %g lx, want %g", i+1, l.Values[i], want)
		}
	}
	if l.Len() != 3 || !slices.Equal(l.Other, []Other{{"mm", 2}}) {
		t.Errorf("%d readings are on the line, left out is %v", l.Len(), l.Other)
	}
}

func TestAWrongClockSetAsideMovesNothing(t *testing.T) {
	b := newBench(t)
	old := lux(0, 1, "lx")
	old.At = time.Unix(3, 0)
	b.record(old, note(10, "cover off"), lux(11, 500, "lx"), lux(12, 501, "lx"))
	if c := b.course(); !c.Start.Equal(time.Unix(3, 0)) {
		t.Errorf("with it the course begins at %s", c.Start)
	}
	r := New(b.nb, b.sit.ID)
	b.extend(r)
	b.sit.Struck = []notebook.Strike{{From: 1, To: 1, Reason: "no clock"}}
	c := r.Course(b.sit)
	if want := nine.Add(10 * time.Second); !c.Start.Equal(want) {
		t.Errorf("without it the course begins at %s, want %s", c.Start, want)
	}
	if l := c.Find("illuminance"); l == nil || !slices.Equal(l.Seconds, []float64{1, 2}) {
		t.Errorf("the line is %+v", l)
	}
	b.sit.Struck = nil
	if l := r.Course(b.sit).Find("illuminance"); l.Len() != 3 {
		t.Errorf("taken back, it does not come back: %+v", l)
	}
}

func TestWhatIsSaidAgainAndAgainIsMarkedOnce(t *testing.T) {
	b := newBench(t)
	for i := range 50 {
		one := lux(float64(i), 500, "lx")
		one.Flags = []string{"over range"}
		b.record(one)
	}
	b.record(note(60, "Lamp on"), note(61, "fan off"), note(62, "fan off"))
	want := []Mark{{0, "lux: over range"}, {60, "Lamp on"}, {61, "fan off"}}
	if c := b.course(); !slices.Equal(c.Marks, want) {
		t.Errorf("marked are %v, want %v", c.Marks, want)
	}
}

func TestReadingsOutOfOrderStandInTheOrderOfTime(t *testing.T) {
	b := newBench(t)
	b.record(lux(0, 1, "lx"), lux(5, 6, "lx"), lux(3, 4, "lx"), lux(5, 7, "lx"), lux(4, 5, "lx"))
	if l := b.course().Find("illuminance"); !slices.Equal(l.Seconds, []float64{0, 3, 4, 5}) || !slices.Equal(l.Values, []float64{1, 4, 5, 6}) {
		t.Errorf("%+v", l)
	}
}

func TestANumberThatWasFlaggedIsNotDrawn(t *testing.T) {
	b := newBench(t)
	bad := lux(1, 9, "lx")
	bad.Values[0].Flag = "over range"
	none := lux(2, 0, "lx")
	none.Values[0].V = nil
	b.record(lux(0, 1, "lx"), bad, none)
	if l := b.course().Find("illuminance"); l.Len() != 1 {
		t.Errorf("%+v", l)
	}
}

func TestLightIsSeenInSpectra(t *testing.T) {
	b := newBench(t)
	b.record(spectrumAt(0, 1), lux(0.5, 10, "lx"), spectrumAt(1, 2), spectrumAt(2, 3))
	c := b.course()
	l := c.Find("light")
	if l == nil || l.Len() != 3 || math.Abs(l.Values[2]/l.Values[0]-3) > 1e-12 {
		t.Fatalf("the light is %+v", l)
	}
	if c.Spectrum != 4 {
		t.Errorf("the latest spectrum is reading %d, want 4", c.Spectrum)
	}
	b.sit.Struck = []notebook.Strike{{From: 4, To: 4, Reason: "door opened"}}
	if c := b.course(); c.Spectrum != 3 || c.Find("light").Len() != 2 {
		t.Errorf("set aside, the latest is reading %d of %d", c.Spectrum, c.Find("light").Len())
	}
}

// What is read in pieces is what is read at once.
func TestExtendingIsReadingAnew(t *testing.T) {
	kinds := []func(s, v float64) notebook.Reading{
		func(s, v float64) notebook.Reading { return lux(s, v, "lx") },
		func(s, v float64) notebook.Reading { return lux(s, v/1000, "klx") },
		func(s, v float64) notebook.Reading { return note(s, fmt.Sprint("mark ", int(v)%3)) },
		spectrumAt,
	}
	b := newBench(t)
	rapid.Check(t, func(rt *rapid.T) {
		b.sitDown()
		grown := New(b.nb, b.sit.ID)
		seen := map[string]int{} // readings of each line that were told as they came
		last := int64(0)
		for range rapid.IntRange(1, 5).Draw(rt, "pieces") {
			var piece []notebook.Reading
			for range rapid.IntRange(0, 6).Draw(rt, "readings") {
				at := rapid.Float64Range(0, 100).Draw(rt, "at")
				piece = append(piece, rapid.SampledFrom(kinds).Draw(rt, "kind")(at, rapid.Float64Range(1, 100).Draw(rt, "value")))
			}
			b.record(piece...)
			n, err := grown.Extend(b.Context())
			if err != nil {
				rt.Fatal(err)
			}
			for _, l := range grown.Since(b.sit, last).Lines {
				seen[l.Channel+l.Key] += l.Len()
			}
			last = n
		}
		got, want := grown.Course(b.sit), b.course()
		if !reflect.DeepEqual(got, want) {
			rt.Fatalf("in pieces %+v, at once %+v", got, want)
		}
		for _, l := range want.Lines {
			if seen[l.Channel+l.Key] < l.Len() {
				rt.Fatalf("%d of %d readings of %s were told", seen[l.Channel+l.Key], l.Len(), l.Key)
			}
		}
	})
}

func TestAThinnedSeriesKeepsItsExtremes(t *testing.T) {
	s := series{}
	for i := range 3000 {
		v := math.Sin(float64(i) / 50)
		switch i {
		case 777:
			v = -5
		case 1500:
			v = 9
		}
		s.samples = append(s.samples, sample{moment{int64(i + 1), int64(i)}, v})
	}
	s.thin()
	if n := len(s.samples); n >= 2000 || n < 1000 {
		t.Errorf("%d samples stay", n)
	}
	least, most := math.Inf(1), math.Inf(-1)
	for i, p := range s.samples {
		least, most = min(least, p.v), max(most, p.v)
		if i > 0 && p.n <= s.samples[i-1].n {
			t.Fatalf("sample %d is out of order", i)
		}
	}
	if least != -5 || most != 9 {
		t.Errorf("the spikes of one reading are %g and %g, want -5 and 9", least, most)
	}
}

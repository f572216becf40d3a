package archive

import (
	"archive/zip"
	"bytes"
	"context"
	"iter"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lampassay/bench/notebook"
)

// memory is a notebook that forgets: what these tests need of a store.
type memory struct {
	entries  map[notebook.Kind][]*notebook.Entry
	journal  []*notebook.JournalEntry
	files    []*notebook.KeptFile
	readings map[notebook.ID][]*notebook.Reading
}

func newMemory() *memory {
	return &memory{entries: map[notebook.Kind][]*notebook.Entry{}, readings: map[notebook.ID][]*notebook.Reading{}}
}

func each[T any](all []T) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		for _, one := range all {
			if !yield(one, nil) {
				return
			}
		}
	}
}

func (m *memory) Entries(_ context.Context, k notebook.Kind) iter.Seq2[*notebook.Entry, error] {
	return each(m.entries[k])
}
func (m *memory) Journal(context.Context) iter.Seq2[*notebook.JournalEntry, error] {
	return each(m.journal)
}
func (m *memory) Files(context.Context) iter.Seq2[*notebook.KeptFile, error] { return each(m.files) }
func (m *memory) Readings(_ context.Context, q notebook.Readings) iter.Seq2[*notebook.Reading, error] {
	return each(m.readings[q.Sitting])
}

func (m *memory) PutEntry(_ context.Context, k notebook.Kind, e *notebook.Entry) error {
	if _, err := notebook.Unmarshal(k, e.Body); err != nil {
		return err
	}
	m.entries[k] = append(m.entries[k], e)
	return nil
}
func (m *memory) PutJournal(_ context.Context, e *notebook.JournalEntry) error {
	m.journal = append(m.journal, e)
	return nil
}
func (m *memory) PutFile(_ context.Context, f *notebook.KeptFile) error {
	m.files = append(m.files, f)
	return nil
}

// PutReadings keeps the tally, as a store does.
func (m *memory) PutReadings(_ context.Context, sitting notebook.ID, readings []notebook.Reading) error {
	e := m.entries[notebook.KindSitting][sitting-1]
	for i := range readings {
		r := readings[i]
		m.readings[sitting] = append(m.readings[sitting], &r)
		e.Readings++
	}
	e.Chain = chainOf(m.readings[sitting])
	return nil
}

func chainOf(readings []*notebook.Reading) notebook.Sum {
	var chain [32]byte
	for i, r := range readings {
		line, err := r.Encode()
		if err != nil {
			panic(err)
		}
		var nm, samples []byte
		if r.Curve != nil {
			nm, samples = notebook.Bytes(nil, r.Curve.Axis), notebook.Bytes(nil, r.Curve.Samples)
		}
		chain = notebook.Link(chain, int64(i+1), line, nm, samples)
	}
	return notebook.HexOf(chain)
}

// holding returns a notebook with one sitting that has these readings.
func holding(readings ...*notebook.Reading) *memory {
	m := newMemory()
	m.entries[notebook.KindLamp] = []*notebook.Entry{{ID: 1, Revision: 1, Body: []byte(`{"name":"x"}`)}}
	m.entries[notebook.KindSitting] = []*notebook.Entry{{ID: 1, Revision: 2, Body: []byte(`{"lamp":1,"title":"","started":"2026-11-25T09:00:00Z","set_up":{}}`)}}
	m.journal = []*notebook.JournalEntry{{Change: notebook.Change{Seq: 1, At: time.Unix(0, 0).UTC(), Action: notebook.Added, Ref: notebook.Ref{Kind: notebook.KindLamp, ID: 1}}, After: []byte(`{"name":"x"}`)}}
	for i, r := range readings {
		r.N = int64(i + 1)
	}
	if m.readings[1] = readings; len(readings) > 0 {
		e := m.entries[notebook.KindSitting][0]
		e.Readings, e.Chain = int64(len(readings)), chainOf(readings)
	}
	return m
}

func write(tb rapid.TB, m *memory) []byte {
	var b bytes.Buffer
	if err := Write(context.Background(), &b, m); err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

func read(archived []byte) (*memory, error) {
	m := newMemory()
	return m, Read(context.Background(), bytes.NewReader(archived), int64(len(archived)), Limits{Bytes: 64 << 20}, m)
}

// anyReading draws a reading that a notebook would keep.
var anyReading = rapid.Custom(func(t *rapid.T) *notebook.Reading {
	text := rapid.OneOf(rapid.SampledFrom([]string{"", ";", `\`, "\r\n", `"`, ",", "=1", " ", "\x00\x7f", `\n`, "λ\u2028", "NaN"}), rapid.String())
	finite := rapid.OneOf(rapid.Float64Range(-math.MaxFloat64, math.MaxFloat64), rapid.SampledFrom([]float64{0, math.Copysign(0, -1), 5e-324}))
	r := &notebook.Reading{
		At:         time.UnixMicro(rapid.Int64Range(0, 4e15).Draw(t, "at")).UTC(),
		Channel:    rapid.StringMatching(`[a-z0-9λ][a-z ._-]{0,9}`).Draw(t, "channel"),
		Instrument: notebook.ID(rapid.IntRange(0, 9).Draw(t, "instrument")),
		Note:       text.Draw(t, "note"), Raw: text.Draw(t, "raw"),
	}
	r.Flags = rapid.SliceOfN(text.Filter(func(s string) bool { return s != "" }), 0, 3).Draw(t, "flags")
	for range rapid.IntRange(0, 3).Draw(t, "values") {
		v := notebook.Value{Key: "k" + text.Draw(t, "key"), Unit: text.Draw(t, "unit"), Flag: text.Draw(t, "flag")}
		if rapid.Bool().Draw(t, "is there") {
			x := finite.Draw(t, "value")
			v.V = &x
		}
		r.Values = append(r.Values, v)
	}
	if sort := rapid.IntRange(0, 2).Draw(t, "curve"); sort > 0 {
		c := &notebook.Curve{
			Quantity: text.Draw(t, "quantity"), ExposureMs: rapid.Float64Range(0, 1e6).Draw(t, "exposure"), Averages: rapid.IntRange(0, 99).Draw(t, "averages"),
			Samples: rapid.SliceOfN(rapid.OneOf(finite, rapid.Just(math.NaN())), 1, 6).Draw(t, "samples"),
		}
		if c.RateHz = 48000; sort == 1 {
			c.RateHz = 0
			from := rapid.Float64Range(1, 500).Draw(t, "from")
			for i := range c.Samples {
				c.Axis = append(c.Axis, from+float64(i)/3)
			}
		}
		r.Curve = c
	}
	return r
})

func TestAnyReadingsRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		readings := rapid.SliceOfN(anyReading, 0, 6).Draw(t, "readings")
		for _, r := range readings {
			if err := r.Check(); err != nil {
				t.Fatal(err)
			}
		}
		first := write(t, holding(readings...))
		m, err := read(first)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(first, write(t, m)) {
			t.Fatal("the second archive differs from the first")
		}
	})
}

func TestTheTablesOfASitting(t *testing.T) {
	w, v := 35.5, 230.0
	at := time.Date(2026, 11, 25, 9, 0, 0, 250000000, time.UTC)
	spectrum := func(nm ...float64) *notebook.Curve {
		return &notebook.Curve{Quantity: "counts", Axis: nm, ExposureMs: 20, Samples: []float64{1, math.NaN()}}
	}
	b := write(t, holding(
		&notebook.Reading{At: at, Channel: "mains", Instrument: 2, Values: []notebook.Value{{Key: "power", V: &w, Unit: "W"}, {Key: "voltage", V: &v, Unit: "V"}, {Key: "current", Flag: "over range"}}},
		&notebook.Reading{At: at, Channel: "spectrometer", Curve: spectrum(400, 500.5)},
		&notebook.Reading{At: at, Channel: "spectrometer", Curve: spectrum(400, 501)},
		&notebook.Reading{At: at, Channel: "bench", Note: "door; open\nand shut", Flags: []string{"a;b", "c"}},
		&notebook.Reading{At: at, Channel: "diode", Curve: &notebook.Curve{Quantity: "V", RateHz: 48000, Samples: []float64{0.5, -0.25, 1e-300}}},
	))
	z, err := zip.NewReader(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string]string{
		"sitting/1/readings.csv": `n,at,channel,instrument,key,value,unit,flag,flags,note,raw,curve,quantity,rate_hz,exposure_ms,averages
1,2026-11-25T09:00:00.250000Z,mains,2,power,35.5,W,,,,,,,,,
1,,,,voltage,230,V,,,,,,,,,
1,,,,current,,,over range,,,,,,,,
2,2026-11-25T09:00:00.250000Z,spectrometer,,,,,,,,,spectrum,counts,,20,
3,2026-11-25T09:00:00.250000Z,spectrometer,,,,,,,,,spectrum,counts,,20,
4,2026-11-25T09:00:00.250000Z,bench,,,,,,a\;b;c,door\; open\nand shut,,,,,,
5,2026-11-25T09:00:00.250000Z,diode,,,,,,,,,waveform,V,48000,,
`,
		"sitting/1/spectra.csv":   "wavelength_nm,400,500.5\n2,1,NaN\nwavelength_nm,400,501\n3,1,NaN\n",
		"sitting/1/waveforms.csv": "5,0.5,-0.25,1e-300\n",
	} {
		f, err := z.Open(name)
		if err != nil {
			t.Error(err)
			continue
		}
		var text bytes.Buffer
		if _, err := text.ReadFrom(f); err != nil {
			t.Fatal(err)
		}
		if text.String() != want {
			t.Errorf("%s is\n%s\nwant\n%s", name, text.String(), want)
		}
	}
}

// FuzzRead gives the reader whatever comes: it refuses it, or what it took can be
// written and read again.
func FuzzRead(f *testing.F) {
	w := 1.5
	f.Add(write(f, holding()))
	f.Add(write(f, holding(
		&notebook.Reading{At: time.Unix(1, 0), Channel: "mains", Values: []notebook.Value{{Key: "power", V: &w}}},
		&notebook.Reading{At: time.Unix(1, 0), Channel: "s", Curve: &notebook.Curve{Axis: []float64{1, 2}, Samples: []float64{1, 2}}},
	)))
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\x00", 18)))
	f.Fuzz(func(t *testing.T, b []byte) {
		m, err := read(b)
		if err != nil {
			return
		}
		first := write(t, m)
		again, err := read(first)
		if err != nil {
			t.Fatalf("what was taken cannot be read again: %v", err)
		}
		if !bytes.Equal(first, write(t, again)) {
			t.Error("the second archive differs from the first")
		}
	})
}

// FuzzTables goes behind the zip, whose checksums keep most of what FuzzRead tries
// away from the tables.
func FuzzTables(f *testing.F) {
	head := strings.Join(columns, ",") + "\n"
	f.Add(head+"1,2026-11-25T09:00:00.250000Z,mains,2,power,35.5,W,,a;b,note\\n,raw\\x00,,,,,\n1,,,,voltage,,V,over range,,,,,,,,\n", "")
	f.Add(head+"1,2026-11-25T09:00:00.250000Z,s,,,,,,,,,spectrum,counts,,20,3\n", "wavelength_nm,400,401\n1,2,NaN\n")
	f.Add(head+"1,2026-11-25T09:00:00.250000Z,s,,,,,,,,,waveform,V,48000,,\n", "1,2,-1e-300\n")
	f.Fuzz(func(t *testing.T, text, rows string) {
		parse := func(text, rows string) (all []*notebook.Reading) {
			r, err := newReadings(strings.NewReader(text), "readings")
			if err != nil {
				return nil
			}
			c := newCurves(strings.NewReader(rows), "curves")
			for {
				one, sort, err := r.next()
				if err == nil && one != nil && sort != "" {
					err = c.next(one)
				}
				if err == nil && one != nil {
					err = one.Check()
				}
				if err != nil || one == nil {
					return all
				}
				all = append(all, one)
			}
		}
		all := parse(text, rows)
		var again, curves bytes.Buffer
		a, c := table{to: &again}, table{to: &curves}
		a.row(columns...)
		for _, r := range all {
			a.reading(r)
			if r.Curve != nil {
				if r.Curve.Axis != nil {
					c.numbers(axisMark, r.Curve.Axis)
				}
				c.numbers(strconv.FormatInt(r.N, 10), r.Curve.Samples)
			}
		}
		second := parse(again.String(), curves.String())
		if len(second) != len(all) {
			t.Fatalf("%d readings were read and %d read again", len(all), len(second))
		}
		for i := range all {
			if chainOf(all[i:i+1]) != chainOf(second[i:i+1]) {
				t.Errorf("reading %d is %+v and then %+v", i, all[i], second[i])
			}
		}
	})
}

func TestWhatIsWrongWithAnEntryIsOneSentence(t *testing.T) {
	err := decode("lamp/1.json", []byte(`{"colour": 1}`), &entryJSON{})
	if want := `notebook: the archive cannot be read: lamp/1.json: unknown field "colour"`; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}

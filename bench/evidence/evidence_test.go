package evidence_test

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"lampassay/bench/evidence"
	"lampassay/bench/notebook"
	"lampassay/bench/notebook/sqlite"
)

// bench is a notebook with one sitting, in which readings are ten seconds apart.
type bench struct {
	*testing.T
	nb  *sqlite.Store
	sit *notebook.Sitting
	at  time.Time
}

func newBench(t *testing.T) *bench {
	t.Helper()
	return sitDown(t, newNotebook(t))
}

func newNotebook(t testing.TB) *sqlite.Store {
	t.Helper()
	nb, err := sqlite.Create(t.Context(), filepath.Join(t.TempDir(), "test.notebook"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := nb.Close(); err != nil {
			t.Error(err)
		}
	})
	return nb
}

// sitDown begins a sitting with a lamp of its own.
func sitDown(t *testing.T, nb *sqlite.Store) *bench {
	t.Helper()
	b := &bench{T: t, nb: nb, at: time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)}
	lamp := must(nb.Lamps().Add(t.Context(), notebook.Lamp{Name: "Engine shed lamp"}))
	b.sit = must(nb.Sittings().Add(t.Context(), notebook.Sitting{Lamp: lamp.ID, Started: b.at}))
	return b
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// append keeps a reading and returns its number.
func (b *bench) append(r notebook.Reading) int64 {
	b.Helper()
	b.at = b.at.Add(10 * time.Second)
	r.At = b.at
	n, err := b.nb.Append(b.Context(), b.sit.ID, []notebook.Reading{r})
	if err != nil {
		b.Fatal(err)
	}
	return n
}

// axis is of an invented spectrometer.
func axis() (nm []float64) {
	for l := 380.0; l <= 780; l += 5 {
		nm = append(nm, l)
	}
	return nm
}

// glow is an invented lamp's curve; k makes each recording a little different.
func glow(k int) (values []float64) {
	for _, l := range axis() {
		values = append(values, (1+0.02*math.Sin(float64(k)))*math.Exp(-math.Pow((l-580)/90, 2))*(1+0.01*math.Sin(float64(7*k)+l/11)))
	}
	return values
}

func (b *bench) spectrum(k int) int64 {
	b.Helper()
	return b.append(notebook.Reading{Channel: "spectrometer", Curve: &notebook.Curve{Quantity: "relative", Axis: axis(), Samples: glow(k)}})
}

func (b *bench) mark(text string) int64 {
	b.Helper()
	return b.append(notebook.Reading{Channel: "mark", Note: text})
}

func (b *bench) value(key, unit string, v float64) int64 {
	b.Helper()
	return b.append(notebook.Reading{Channel: "entry", Values: []notebook.Value{{Key: key, V: &v, Unit: unit}}})
}

func (b *bench) gather(ask evidence.Ask) (*evidence.Evidence, error) {
	b.Helper()
	return evidence.Gather(b.Context(), b.nb, b.sit, ask)
}

func (b *bench) strike(from, to int64) {
	b.Helper()
	b.sit.Struck = append(b.sit.Struck, notebook.Strike{From: from, To: to, Reason: "a train went by"})
	b.sit = must(b.nb.Sittings().Update(b.Context(), *b.sit))
}

// refused looks for a sentence.
func (b *bench) refused(ask evidence.Ask, wanted string) {
	b.Helper()
	_, err := b.gather(ask)
	if err == nil || !strings.Contains(err.Error(), wanted) || notebook.CodeOf(err) != notebook.Invalid {
		b.Errorf("%+v is answered with %v, not with %q", ask, err, wanted)
	}
}

func TestAMeanIsOfTheLatestSpectraThatCount(t *testing.T) {
	b := newBench(t)
	b.spectrum(1) // before the lamp was switched on
	b.mark("switched on")
	b.spectrum(2)
	b.value("illuminance", "lx", 410)
	out := b.spectrum(3)
	b.spectrum(4)
	b.spectrum(5)
	b.value("luminous_flux", "lm", 806)
	b.spectrum(6)
	b.strike(out, out)

	e, err := b.gather(evidence.Ask{Spectra: 4})
	if err != nil {
		t.Fatal(err)
	}
	if want := []int64{3, 6, 7, 9}; !slices.Equal(e.Readings, want) {
		t.Errorf("the mean is of readings %d, not %d", e.Readings, want)
	}
	var named []string
	for _, in := range e.Inputs {
		named = append(named, fmt.Sprintf("%s %d-%d", in.What, in.From, in.To))
	}
	if want := []string{"spectrum 3-3", "spectrum 6-9", "luminous_flux 8-8"}; !slices.Equal(named, want) {
		t.Errorf("the inputs are %q, not %q", named, want)
	}
	// The mean of what was recorded, each brought to the mean's total (the scale of a
	// relative spectrum means nothing).
	var total float64
	spectra := [][]float64{glow(2), glow(4), glow(5), glow(6)}
	for _, s := range spectra {
		total += sum(s) / 4
	}
	for i, v := range e.Spectrum.Values() {
		mean := 0.0
		for _, s := range spectra {
			mean += s[i] * total / sum(s) / 4
		}
		if math.Abs(v-mean) > 1e-14 {
			t.Fatalf("sample %d of the mean is %g, not %g", i, v, mean)
		}
	}
	if e.Repeats == nil || len(e.Repeats.Departures) != 4 {
		t.Error("the scatter of the spectra is not kept")
	}
	b.refused(evidence.Ask{Spectra: 5}, "a mean of 5 spectra was asked for, and since the lamp was switched on (reading 2) there are 4")
	b.refused(evidence.Ask{Spectra: 3}, "a mean is taken of 4 to 100 spectra, not of 3")
	b.refused(evidence.Ask{Spectra: 101}, "a mean is taken of 4 to 100 spectra, not of 101")
}

func sum(all []float64) (s float64) {
	for _, v := range all {
		s += v
	}
	return s
}

func TestAMeanCanBeginAtAMark(t *testing.T) {
	b := newBench(t)
	b.refused(evidence.Ask{}, "this sitting has no spectrum yet")
	for k := range 3 {
		b.spectrum(k)
	}
	b.refused(evidence.Ask{Spectra: evidence.SinceMark}, "there is no mark in this sitting")
	b.mark("the light is steady")
	for k := range 3 {
		b.spectrum(10 + k)
	}
	b.refused(evidence.Ask{Spectra: evidence.SinceMark}, "a mean is taken of 4 spectra or more, and since the mark “the light is steady” (reading 4) there are 3")
	b.spectrum(13)
	e, err := b.gather(evidence.Ask{Spectra: evidence.SinceMark})
	if err != nil {
		t.Fatal(err)
	}
	if want := []int64{5, 6, 7, 8}; !slices.Equal(e.Readings, want) {
		t.Errorf("the mean is of readings %d, not %d", e.Readings, want)
	}
	c, err := evidence.Choose(t.Context(), b.nb, b.sit, func(string) []int64 { return []int64{1, 2, 3, 5, 6, 7, 8} })
	if err != nil {
		t.Fatal(err)
	}
	if c.Spectra != 7 || c.Marked != 4 || c.Latest.N != 8 {
		t.Errorf("there are said to be %d spectra, %d since the mark, and %d the latest", c.Spectra, c.Marked, c.Latest.N)
	}
	for k := range 100 {
		b.spectrum(20 + k)
	}
	b.refused(evidence.Ask{Spectra: evidence.SinceMark}, "a mean is taken of at most 100 spectra")
}

func TestSpectraThatAreNotAlikeAreNotAveraged(t *testing.T) {
	b := newBench(t)
	for k := range 3 {
		b.spectrum(k)
	}
	b.append(notebook.Reading{Channel: "spectrometer", Curve: &notebook.Curve{Quantity: "relative", Axis: axis()[1:], Samples: glow(3)[1:]}})
	b.refused(evidence.Ask{Spectra: 4}, "reading 4 has other wavelengths than reading 1")
	b = newBench(t)
	for k := range 3 {
		b.spectrum(k)
	}
	b.append(notebook.Reading{Channel: "spectrometer", Curve: &notebook.Curve{Quantity: "irradiance", Axis: axis(), Samples: glow(3)}})
	b.refused(evidence.Ask{Spectra: 4}, "reading 4 holds irradiance and reading 1 relative")
}

func TestWhatHappensLaterChangesNothingAboutAnAssay(t *testing.T) {
	b := newBench(t)
	for k := range 6 {
		b.spectrum(k)
		b.value("power", "W", 45)
	}
	e, err := b.gather(evidence.Ask{Spectra: 5})
	if err != nil {
		t.Fatal(err)
	}
	b.spectrum(9)
	b.strike(3, 9)
	b.sit.SetUp.PowerAt = evidence.AtLamp
	b.sit = must(b.nb.Sittings().Update(t.Context(), *b.sit))
	terms, err := evidence.TermsOf(e.Terms.Methods())
	if err != nil {
		t.Fatal(err)
	}
	again, err := evidence.Take(t.Context(), b.nb, b.sit, e.Inputs, terms)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(again.Readings, e.Readings) || !slices.Equal(again.Spectrum.Values(), e.Spectrum.Values()) {
		t.Errorf("the mean is now of %d, and was of %d", again.Readings, e.Readings)
	}
	forged := slices.Clone(e.Inputs)
	forged[0].SHA256 = notebook.SumOf([]byte("another"))
	if _, err := evidence.Take(t.Context(), b.nb, b.sit, forged, terms); notebook.CodeOf(err) != notebook.Damaged {
		t.Errorf("a wrong checksum is answered with %v", err)
	}
}

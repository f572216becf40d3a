package sqlite

import (
	"math"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"lampassay/bench/notebook"
)

func gather(tb testing.TB, s *Store, q notebook.Readings) (all []*notebook.Reading) {
	tb.Helper()
	for r, err := range s.Readings(tb.Context(), q) {
		if err != nil {
			tb.Fatal(err)
		}
		all = append(all, r)
	}
	return all
}

func TestReadingsComeBackAsTheyWere(t *testing.T) {
	s := fresh(t)
	v := sit(t, s, tube(t, s).ID)
	g := newSpectra(100)
	in := []notebook.Reading{g.at(0, 1), watts(0), g.at(1, 0), watts(1)}
	in[1].Flags, in[1].Raw, in[1].Note = []string{"over range"}, "9.9E37\r\n", "a mark"
	in[3].Values[0].V = nil
	if n, err := s.Append(t.Context(), v.ID, in[:1]); err != nil || n != 1 {
		t.Fatal(n, err)
	}
	if n, err := s.Append(t.Context(), v.ID, in[1:]); err != nil || n != 4 {
		t.Fatal(n, err)
	}
	if n, err := s.Append(t.Context(), v.ID, nil); err != nil || n != 4 {
		t.Errorf("nothing appended is reading %d (%v)", n, err)
	}
	out := gather(t, s, notebook.Readings{Sitting: v.ID})
	if len(out) != len(in) {
		t.Fatalf("%d readings came back of %d", len(out), len(in))
	}
	for i, r := range out {
		want := in[i]
		want.N, want.Chain = int64(i+1), r.Chain
		if !reflect.DeepEqual(*r, want) {
			t.Errorf("reading %d is %+v, want %+v", i+1, *r, want)
		}
	}
	tally, err := s.Tally(t.Context(), v.ID)
	if err != nil || tally.Readings != 4 || tally.Chain != out[3].Chain || !tally.From.Equal(in[0].At) || !tally.To.Equal(in[2].At) || len(tally.Channels) != 2 {
		t.Errorf("the tally is %+v (%v)", tally, err)
	}
	for _, c := range []struct {
		q    notebook.Readings
		want []int64
	}{
		{notebook.Readings{After: 2}, []int64{3, 4}},
		{notebook.Readings{Limit: 1, After: 1}, []int64{2}},
		{notebook.Readings{Channel: "mains"}, []int64{2, 4}},
		{notebook.Readings{Sitting: 2}, nil},
	} {
		if c.q.Sitting == 0 {
			c.q.Sitting = v.ID
		}
		var got []int64
		for _, r := range gather(t, s, c.q) {
			got = append(got, r.N)
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%+v chooses %v, want %v", c.q, got, c.want)
		}
	}
	curves := 0
	for _, r := range gather(t, s, notebook.Readings{Sitting: v.ID, NoCurves: true}) {
		if c := r.Curve; c != nil {
			curves++
			if c.Axis != nil || c.Samples != nil {
				t.Error("samples came that were to be left out")
			}
		}
	}
	if curves == 0 {
		t.Error("nothing tells which readings have a curve")
	}
}

func TestAppendingIsAllOrNothing(t *testing.T) {
	s := fresh(t)
	v := sit(t, s, tube(t, s).ID)
	nan := math.NaN()
	bad := func(change func(*notebook.Reading)) notebook.Reading {
		r := newSpectra(4).at(0, 1)
		change(&r)
		return r
	}
	for says, r := range map[string]notebook.Reading{
		"leave the number out and flag it": bad(func(r *notebook.Reading) { r.Values = []notebook.Value{{Key: "power", V: &nan}} }),
		"channel":                          bad(func(r *notebook.Reading) { r.Channel = "../x" }),
		"infinite":                         bad(func(r *notebook.Reading) { r.Curve.Samples[2] = math.Inf(1) }),
		"they are positive and increase":   bad(func(r *notebook.Reading) { r.Curve.Axis = []float64{4, 3, 2, 1} }),
		"3 wavelengths but 4 samples":      bad(func(r *notebook.Reading) { r.Curve.Axis = []float64{1, 2, 3} }),
		"either wavelengths or":            bad(func(r *notebook.Reading) { r.Curve.RateHz = 1 }),
		"no time it can have been made":    bad(func(r *notebook.Reading) { r.At = time.Time{} }),
		"quote what an instrument sent":    bad(func(r *notebook.Reading) { r.Raw = "\xff\xfe" }),
		"longer than":                      bad(func(r *notebook.Reading) { r.Note = strings.Repeat("x", notebook.MostTextBytes+1) }),
	} {
		_, err := s.Append(t.Context(), v.ID, []notebook.Reading{watts(1), r})
		wantCode(t, err, notebook.Invalid, says)
	}
	if tally, _ := s.Tally(t.Context(), v.ID); tally.Readings != 0 {
		t.Errorf("%d readings were kept of refused batches", tally.Readings)
	}
}

// TestThinningKeepsWhatTheEyeLooksFor puts a drop-out of one reading, a flag and
// a mark into an hour and thins it by a hundred.
func TestThinningKeepsWhatTheEyeLooksFor(t *testing.T) {
	s := fresh(t)
	v := sit(t, s, tube(t, s).ID)
	var all []notebook.Reading
	g := newSpectra(16)
	for k := range 3600 {
		w := watts(float64(k))
		switch k {
		case 1234:
			*w.Values[0].V = 0
		case 2345:
			w.Flags = []string{"over range"}
		case 2346:
			all = append(all, notebook.Reading{At: w.At, Channel: "bench", Note: "door"})
		}
		all = append(all, w)
		if k%2 == 0 {
			all = append(all, g.at(k, 1))
		}
	}
	if _, err := s.Append(t.Context(), v.ID, all); err != nil {
		t.Fatal(err)
	}
	const parts = 36
	var spectra, meter int
	var dropped, flagged, marked bool
	var last int64
	for _, r := range gather(t, s, notebook.Readings{Sitting: v.ID, Decimate: parts}) {
		if r.N <= last {
			t.Errorf("reading %d comes after %d", r.N, last)
		}
		last = r.N
		switch r.Channel {
		case "spectrometer":
			spectra++
		case "mains":
			meter++
			dropped = dropped || *r.Values[0].V == 0
			flagged = flagged || len(r.Flags) > 0
		case "bench":
			marked = r.Note == "door"
		}
	}
	if spectra != parts {
		t.Errorf("%d spectra are drawn, want one in each of %d parts", spectra, parts)
	}
	if meter < parts || meter > 2*parts+1 {
		t.Errorf("%d meter readings are drawn, want the least and the greatest of each of %d parts", meter, parts)
	}
	if !dropped || !flagged || !marked {
		t.Errorf("the drop-out is drawn: %t, the flag: %t, the mark: %t", dropped, flagged, marked)
	}
	if n := len(gather(t, s, notebook.Readings{Sitting: 99, Decimate: 10})); n != 0 {
		t.Errorf("%d readings of no sitting", n)
	}
}

func TestSpectraTakeHardlyMoreThanTheirSamples(t *testing.T) {
	for _, step := range []float64{1, .1, 0} {
		s := fresh(t)
		v := sit(t, s, tube(t, s).ID)
		g := newSpectra(2048)
		packed := 0
		for k := 0; k < 600; k += 50 {
			all := make([]notebook.Reading, 50)
			for j := range all {
				all[j] = g.at(30*(k+j), step)
				packed += len(pack(all[j].Curve.Samples))
			}
			if _, err := s.Append(t.Context(), v.ID, all); err != nil {
				t.Fatal(err)
			}
		}
		if ratio := float64(size(t, s)) / float64(packed); ratio > 1.2 {
			t.Errorf("step %g: the notebook is %.3f times its packed samples, want at most 1.2", step, ratio)
		}
	}
}

// TestManyInstrumentsAtOnce has sixteen record side by side: each gets its own
// numbers, in its own order, and nothing is lost.
func TestManyInstrumentsAtOnce(t *testing.T) {
	s := fresh(t)
	v := sit(t, s, tube(t, s).ID)
	const instruments, each = 16, 50
	var wait sync.WaitGroup
	for range instruments {
		wait.Go(func() {
			var last int64
			for k := range each {
				n, err := s.Append(t.Context(), v.ID, []notebook.Reading{watts(float64(k))})
				if err != nil || n <= last {
					t.Errorf("the reading after %d has the number %d (%v)", last, n, err)
				}
				last = n
			}
		})
	}
	wait.Wait()
	if tally, err := s.Tally(t.Context(), v.ID); err != nil || tally.Readings != instruments*each {
		t.Errorf("%d readings are there of %d (%v)", tally.Readings, instruments*each, err)
	}
	wantClean(t, s)
}

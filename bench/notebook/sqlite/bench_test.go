package sqlite

import (
	"io"
	"math"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
)

// spectra are an invented discharge lamp on its way up: a line and a hump over
// an offset, with the noise of counted photons.
type spectra struct {
	r    *rand.Rand
	axis []float64
}

func newSpectra(samples int) *spectra {
	s := &spectra{r: rand.New(rand.NewPCG(7, 11)), axis: make([]float64, samples)}
	for i := range s.axis {
		s.axis[i] = 350 + 450*float64(i)/float64(samples) + 1e-5*float64(i*i)/float64(samples)
	}
	return s
}

// at returns the spectrum of a second, its counts rounded to a multiple of step;
// 0 leaves them as a calibration would, with all their digits.
func (s *spectra) at(second int, step float64) notebook.Reading {
	v := make([]float64, len(s.axis))
	up := 1 - math.Exp(-float64(second+1)/400)
	for i := range v {
		x := float64(i) / float64(len(v))
		c := 300 + up*(20000*math.Exp(-math.Pow((x-.5)/.15, 2))+30000*math.Exp(-math.Pow((x-.43)/.002, 2)))
		c += math.Sqrt(c) * s.r.NormFloat64()
		if v[i] = math.Round(c/step) * step; step == 0 {
			v[i] = c * 1.7345e-7
		}
	}
	return notebook.Reading{
		At:      time.Date(2026, 11, 25, 9, 0, second, 0, time.UTC),
		Channel: "spectrometer",
		Curve:   &notebook.Curve{Quantity: "counts", Axis: s.axis, ExposureMs: 20, Samples: v},
	}
}

func watts(second float64) notebook.Reading {
	p := math.Round(1000*(36-9*math.Exp(-second/300))) / 1000
	v := 230.1
	return notebook.Reading{
		At: time.Date(2026, 11, 25, 9, 0, 0, int(second*1e9), time.UTC), Channel: "mains",
		Values: []notebook.Value{{Key: "power", V: &p, Unit: "W"}, {Key: "voltage", V: &v, Unit: "V"}},
	}
}

func size(tb testing.TB, s *Store) int64 {
	tb.Helper()
	if _, err := s.writer.Exec("PRAGMA wal_checkpoint(TRUNCATE)"); err != nil {
		tb.Fatal(err)
	}
	info, err := os.Stat(s.path)
	if err != nil {
		tb.Fatal(err)
	}
	return info.Size()
}

// BenchmarkRunUp records five hours of run-up, a spectrum a second, and reads it
// back: thinned for drawing, and whole.
func BenchmarkRunUp(b *testing.B) {
	const seconds, samples = 5 * 3600, 2048
	for _, c := range []struct {
		name string
		step float64
	}{{"counts", 1}, {"means of ten", 0.1}, {"calibrated", 0}} {
		b.Run(c.name, func(b *testing.B) {
			for range b.N {
				s := fresh(b)
				v := sit(b, s, tube(b, s).ID)
				g := newSpectra(samples)
				var packed int64
				for k := 0; k < seconds; k += 100 {
					all := make([]notebook.Reading, 0, 200)
					for j := k; j < k+100; j++ {
						all = append(all, g.at(j, c.step), watts(float64(j)))
						packed += int64(len(pack(all[len(all)-2].Curve.Samples)))
					}
					if _, err := s.Append(b.Context(), v.ID, all); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(packed)/seconds, "B/spectrum")
				b.ReportMetric(float64(size(b, s))/float64(packed), "file/packed")
				if err := s.Close(); err != nil {
					b.Fatal(err)
				}
				read := func(decimate int, unit string) {
					start := time.Now()
					s, err := Open(b.Context(), s.path)
					if err != nil {
						b.Fatal(err)
					}
					defer s.Close()
					for _, err := range s.Readings(b.Context(), notebook.Readings{Sitting: v.ID, Decimate: decimate}) {
						if err != nil {
							b.Fatal(err)
						}
					}
					b.ReportMetric(time.Since(start).Seconds(), unit)
				}
				read(1000, "s/drawn")
				read(0, "s/all")
				start := time.Now()
				wantClean(b, mustOpen(b, s.path))
				b.ReportMetric(time.Since(start).Seconds(), "s/verified")
				start = time.Now()
				if err := mustOpen(b, s.path).Export(b.Context(), io.Discard); err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(time.Since(start).Seconds(), "s/exported")
			}
		})
	}
}

// BenchmarkIngest is what readings that are put into a session one by one cost, each
// acknowledged from the disk, from 64 senders at once: 10⁵ a minute are 600 µs each.
func BenchmarkIngest(b *testing.B) {
	for _, c := range []struct {
		name string
		of   func(g *spectra, k int) notebook.Reading
	}{
		{"meter", func(_ *spectra, k int) notebook.Reading { return watts(float64(k)) }},
		{"spectrum", func(g *spectra, k int) notebook.Reading { return g.at(k, 1) }},
	} {
		b.Run(c.name, func(b *testing.B) {
			s := fresh(b)
			v := sit(b, s, tube(b, s).ID)
			session := live.Open(b.Context(), live.Into(s, v.ID), live.Options{})
			defer session.Close()
			g := newSpectra(2048)
			ready := make([]notebook.Reading, 64)
			for k := range ready {
				ready[k] = c.of(g, k)
			}
			b.SetParallelism(32)
			b.RunParallel(func(each *testing.PB) {
				for k := 0; each.Next(); k++ {
					if _, err := session.Enter(b.Context(), ready[k%len(ready)]); err != nil {
						b.Error(err)
						return
					}
				}
			})
			if tally, err := s.Tally(b.Context(), v.ID); err != nil || tally.Readings != int64(b.N) {
				b.Errorf("%d readings are there of %d (%v)", tally.Readings, b.N, err)
			}
		})
	}
}

// BenchmarkAppendOne is one acknowledged reading with nobody beside it: what the
// disk takes.
func BenchmarkAppendOne(b *testing.B) {
	s := fresh(b)
	v := sit(b, s, tube(b, s).ID)
	for b.Loop() {
		if _, err := s.Append(b.Context(), v.ID, []notebook.Reading{watts(1)}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkShelf lists a thousand lamps.
func BenchmarkShelf(b *testing.B) {
	s := fresh(b)
	shelf(b, s, 1000)
	for _, c := range []struct {
		name string
		q    notebook.Query
	}{
		{"all", notebook.Query{}},
		{"fifty by colour", notebook.Query{Sort: "cct", Limit: 50}},
		{"fifty with a word", notebook.Query{Text: "sodium invented", Limit: 50}},
	} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if list, err := s.Shelf(b.Context(), c.q); err != nil || len(list.Items) == 0 {
					b.Fatal(err)
				}
			}
		})
	}
}

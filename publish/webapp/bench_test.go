package webapp

import (
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"testing"
	"time"

	"lampassay/bench/notebook"
	"lampassay/bench/notebook/sqlite"
)

// crowd fills a notebook with lamps that have figures and strips. All invented.
func crowd(tb testing.TB, n int) *sqlite.Store {
	tb.Helper()
	nb, err := sqlite.Create(tb.Context(), filepath.Join(tb.TempDir(), "crowd.notebook"))
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { nb.Close() })
	kinds := familyNames()
	for i := range n {
		l, err := nb.Lamps().Add(tb.Context(), notebook.Lamp{Name: fmt.Sprintf("Lamp %d", i+1), Technology: kinds[i%len(kinds)], Tags: []string{"crowd"}})
		if err != nil {
			tb.Fatal(err)
		}
		strip := make([]float64, stripSteps+1)
		for k := range strip {
			strip[k] = math.Abs(math.Sin(float64(k*(i%17+1)) / 40))
		}
		_, err = nb.Assays().Add(tb.Context(), notebook.Assay{
			Lamp: l.ID, Made: time.Now(), Program: "test", Strip: strip, Record: []byte("{}"),
			Inputs:  []notebook.Input{{What: "file", SHA256: notebook.SumOf([]byte{byte(i)})}},
			Figures: map[string]float64{"luminous_flux": float64(400 + i), "cct": 2700 + float64(i), "ra": 80 + float64(i%20), "luminous_efficacy": 60 + float64(i%90)},
		})
		if err != nil {
			tb.Fatal(err)
		}
	}
	return nb
}

// BenchmarkPages renders pages of a notebook with a thousand lamps.
func BenchmarkPages(b *testing.B) {
	s, err := New(Options{Notebook: crowd(b, 1000), Name: "Crowd", Hosts: []string{"example.com"}})
	if err != nil {
		b.Fatal(err)
	}
	h := s.Handler()
	for _, path := range []string{"/", "/?sort=cct&down=1", "/?text=fluorescent&from=50", "/lamps/500", "/lamps/500/edit", "/log", "/compare", "/import", "/instruments", "/trash"} {
		b.Run(path, func(b *testing.B) {
			for b.Loop() {
				w := httptest.NewRecorder()
				h.ServeHTTP(w, httptest.NewRequest("GET", path, nil))
				if w.Code != http.StatusOK {
					b.Fatalf("%d %s", w.Code, w.Body)
				}
			}
		})
	}
}

// BenchmarkLongRunUp opens the page and the record of five hours at a spectrum of
// 2048 samples a second.
func BenchmarkLongRunUp(b *testing.B) {
	nb := crowd(b, 1)
	sit, err := nb.Sittings().Add(b.Context(), notebook.Sitting{Lamp: 1, Title: "Long", Started: time.Now()})
	if err != nil {
		b.Fatal(err)
	}
	axis := make([]float64, 2048)
	for i := range axis {
		axis[i] = 340 + 0.3*float64(i)
	}
	start := time.Now().Add(-6 * time.Hour)
	for s := 0; s < 5*3600; s += 300 {
		var batch []notebook.Reading
		for k := range 300 {
			settle := 1 - math.Exp(-float64(s+k)/600)
			samples := make([]float64, len(axis))
			for i, nm := range axis {
				samples[i] = math.Round(60000*settle*math.Exp(-math.Pow((nm-589)/60, 2)) + float64((i*7919+k*104729)%40))
			}
			watts := 46 + 10*(1-settle)
			at := start.Add(time.Duration(s+k) * time.Second)
			batch = append(batch,
				notebook.Reading{At: at, Channel: "spectrometer", Curve: &notebook.Curve{Quantity: "relative", Axis: axis, Samples: samples}},
				notebook.Reading{At: at, Channel: "mains", Values: []notebook.Value{{Key: "power", V: &watts, Unit: "W"}}})
		}
		if _, err := nb.Append(b.Context(), sit.ID, batch); err != nil {
			b.Fatal(err)
		}
	}
	for _, path := range []string{"/sittings/1", "/sittings/1/record"} {
		b.Run(path, func(b *testing.B) {
			for b.Loop() {
				s, err := New(Options{Notebook: nb, Hosts: []string{"example.com"}}) // nothing is remembered
				if err != nil {
					b.Fatal(err)
				}
				w := httptest.NewRecorder()
				s.Handler().ServeHTTP(w, httptest.NewRequest("GET", path, nil))
				if w.Code != http.StatusOK {
					b.Fatalf("%d %s", w.Code, w.Body)
				}
			}
		})
	}
}

// BenchmarkManyNumbers opens the page of a sitting with 200 000 pushed readings: for
// the first time, and once more.
func BenchmarkManyNumbers(b *testing.B) {
	nb := crowd(b, 1)
	sit, err := nb.Sittings().Add(b.Context(), notebook.Sitting{Lamp: 1, Title: "Pushed", Started: time.Now()})
	if err != nil {
		b.Fatal(err)
	}
	start := time.Now().Add(-time.Hour)
	for from := 0; from < 200_000; from += 5000 {
		var batch []notebook.Reading
		for k := from; k < from+5000; k++ {
			lx, watts := 500+float64(k%7), 46+float64(k%5)/100
			batch = append(batch, notebook.Reading{At: start.Add(time.Duration(k) * 10 * time.Millisecond), Channel: "board",
				Values: []notebook.Value{{Key: "illuminance", V: &lx, Unit: "lx"}, {Key: "power", V: &watts, Unit: "W"}}})
		}
		if _, err := nb.Append(b.Context(), sit.ID, batch); err != nil {
			b.Fatal(err)
		}
	}
	look := func(b *testing.B, s *Server) {
		w := httptest.NewRecorder()
		s.Handler().ServeHTTP(w, httptest.NewRequest("GET", "/sittings/1", nil))
		if w.Code != http.StatusOK {
			b.Fatalf("%d %s", w.Code, w.Body)
		}
	}
	open := func(b *testing.B) *Server {
		s, err := New(Options{Notebook: nb, Hosts: []string{"example.com"}})
		if err != nil {
			b.Fatal(err)
		}
		return s
	}
	b.Run("first", func(b *testing.B) {
		for b.Loop() {
			look(b, open(b))
		}
	})
	b.Run("again", func(b *testing.B) {
		s := open(b)
		look(b, s)
		for b.Loop() {
			look(b, s)
		}
	})
}

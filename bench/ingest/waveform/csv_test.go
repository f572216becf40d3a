package waveform

import (
	"bytes"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"lampassay/bench/ingest"
)

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-12*max(math.Abs(a), math.Abs(b), 1e-9) }

func TestTablesOfOscilloscopesAreRead(t *testing.T) {
	for _, c := range []struct {
		name, text  string
		o           Options
		start, step float64
		names       []string
		unit        string
		first       []float64 // samples of the first channel
	}{
		{"one row of headings", "Time (s),CH1 (V),CH2 (V)\n-0.001,1.5,0.1\n0,2.5,0.2\n0.001,1,0.3\n", Options{}, -1e-3, 1e-3, []string{"CH1", "CH2"}, "V", []float64{1.5, 2.5, 1}},
		{"two rows of headings", "Source;CH1\n(ms);(mV)\n-1,5;10\n-1,0;11\n-0,5;12\n", Options{}, -1.5e-3, 0.5e-3, []string{"CH1"}, "mV", []float64{10, 11, 12}},
		{"start and increment below their names", "X,CH1,CH2,Start,Increment\nSequence,Volt,Volt,-2.0e-3,1.0e-6\n0,1.5,0.1,,\n1,2.5,0.2,,\n2,1,0.3,,\n", Options{}, -2e-3, 1e-6, []string{"CH1", "CH2"}, "Volt", []float64{1.5, 2.5, 1}},
		{"lines of keys", "Model,invented\nSample Interval,2.0e-5\nPoints,3\nCH1 (V)\n1.5\n2.5\n1\n", Options{}, 0, 2e-5, []string{"CH1"}, "V", []float64{1.5, 2.5, 1}},
		{"a rate, and nothing else above", "Sampling rate = 50 kHz\n1.5\n2.5\n1\n", Options{}, 0, 2e-5, nil, "", []float64{1.5, 2.5, 1}},
		{"samples only, the step as asked", "1.5\n2.5\n1\n", Options{Step: 1e-4}, 0, 1e-4, []string{"column 1"}, "", []float64{1.5, 2.5, 1}},
		{"no headings", "0.00\t1.5\n0.01\t2.5\n0.02\t1\n", Options{}, 0, 0.01, []string{"column 2"}, "", []float64{1.5, 2.5, 1}},
		{"whole seconds", "time,lx\n0,1.5\n1,2.5\n2,1\n", Options{}, 0, 1, []string{"lx"}, "", []float64{1.5, 2.5, 1}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := ReadCSV("x", strings.NewReader(c.text), c.o)
			if err != nil {
				t.Fatal(err)
			}
			if !near(r.Start, c.start) || !near(r.Step, c.step) {
				t.Errorf("from %g by %g; want %g by %g", r.Start, r.Step, c.start, c.step)
			}
			var names []string
			for _, ch := range r.Channels {
				names = append(names, ch.Name)
			}
			if c.names != nil && !slices.Equal(names, c.names) || r.Channels[0].Unit != c.unit || !slices.Equal(r.Channels[0].Samples, c.first) {
				t.Errorf("%q, %q: %v; want %q, %q, %v", names, r.Channels[0].Unit, r.Channels[0].Samples, c.names, c.unit, c.first)
			}
			if len(r.Warnings) > 0 {
				t.Errorf("warnings %q", r.Warnings)
			}
		})
	}
}

func TestUnevenTimesAreWarnedOf(t *testing.T) {
	r, err := ReadCSV("x", strings.NewReader("t,V\n0.0,1\n1.2,2\n2,3\n3,1\n"), Options{})
	if err != nil || !near(r.Jitter, 0.2) || len(r.Warnings) != 1 {
		t.Errorf("%+v, %v", r, err)
	}
}

func TestBadTablesAreOneSentence(t *testing.T) {
	for _, c := range []struct {
		name, text string
		o          Options
		want       string
	}{
		{"empty", "", Options{}, "x.csv: found nothing: the file is empty; a waveform is rows of times and values"},
		{"words", "abc\ndef\n", Options{}, "x.csv: found no rows of numbers; a table has at least two"},
		{"a picture", "\x89PNG\r\n\x1a\n\x00", Options{}, "x.csv: found a PNG picture; export the numbers as text"},
		{"one column", "1.5\n2.5\n", Options{}, "x.csv: found a single column without an increment; say how far apart its samples are"},
		{"sample numbers", "n,V\n0,1.5\n1,2.5\n2,3.5\n", Options{}, "x.csv: found sample numbers, 0 to 2, and no increment; say how far apart the samples are"},
		{"times that fall", "t,V\n0.5,1\n0.4,1\n0.6,1\n", Options{}, "x.csv, line 3: found the time 0.4 after 0.5; times have to rise"},
		{"no time passes", "t,V\n0.5,1\n0.5,2\n", Options{}, "x.csv: found times from 0.5 to 0.5; a recording takes time"},
		{"a gap", "t,V\n0.5,1\n1.5,2\n2.5,1\n3.5,1\n4.5,1\n9.5,2\n", Options{}, "x.csv, line 6: found the time 4.5, 1.8 steps from its even place; a waveform needs evenly spaced samples: record it without gaps"},
		{"a sample over range", "t,V\n0.0,1\n0.5,OL\n1.0,1\n", Options{}, "x.csv, line 3, column “V”: found no value, as in 1 of 3 samples; an over-range or missing sample leaves a hole: record it again in a wider range"},
		{"a word for a sample", "t,V,A\n0.0,1,2\n0.5,2,red\n1.0,1,2\n", Options{}, "x.csv, line 3: found “red” where a number should be; correct or remove the line"},
		{"too many samples", "t,V\n0.0,1\n0.5,1\n1.0,1\n", Options{MaxSamples: 5}, "x.csv: found more than 5 numbers; cut the file into shorter ones"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ReadCSV("folder/x.csv", strings.NewReader(c.text), c.o)
			var p *ingest.Problem
			if !errors.As(err, &p) || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

func FuzzReadCSV(f *testing.F) {
	for _, s := range []string{
		"Time (s),CH1 (V)\n-0.001,1.5\n0,2.5\n0.001,1\n", "X,CH1,Start,Increment\nSequence,Volt,-2.0e-3,1.0e-6\n0,1.5,,\n1,2.5,,\n",
		"Sampling rate = 50 kHz\n1.5\n2.5\n", "Source;CH1\n(ms);(mV)\n-1,5;10\n-0,5;11\n", "\n\n1\n", "1e308 1\n1.1e308 2\n",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		for _, o := range []Options{{}, {Step: 1e-3}} {
			r, err := ReadCSV("x", bytes.NewReader(raw), o)
			check(t, r, err)
		}
	})
}

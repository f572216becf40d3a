package ingest

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"lampassay/light/spectrum"
)

// The same invented series in every layout: 400, 410, 420 and 430 nm at 0, 10
// and 25 s.
var seriesTexts = map[string]struct {
	text, format string
	warned       bool
}{
	"columns":                           {"nm,0,10,25\n400,1.0,2,3\n410,4,5,6\n420,7,8,9\n430,0,-1,1\n", formatColumns, false},
	"columns headed in words":           {"Lamp: invented\nWellenlänge [nm];t = 0 s;t = 10 s;t = 25 s\n400;1,0;2,0;3,0\n410;4;5;6\n420;7;8;9\n430;0;-1;1\n", formatColumns, false},
	"columns, descending":               {"nm\t0:00\t0:10\t0:25\n430\t0\t-1\t1\n420\t7\t8\t9\n410\t4\t5\t6\n400\t1\t2\t3\n", formatColumns, true},
	"columns with times like waves":     {"nm,300,310,325,350\n400,1,2,3,NaN\n410,4,5,6,0\n420,7,8,9,0\n430,0,-1,1,0\n", formatColumns, true},
	"rows":                              {"time,400,410,420,430\n0,1,4,7,0\n10,2,5,8,-1\n25,3,6,9,1\n", formatRows, false},
	"rows with dates":                   {"Device: invented\nDate;Time;400 nm;410 nm;420 nm;430 nm\n2026-01-31;23:59:50;1;4;7;0\n2026-02-01;00:00:00;2;5;8;-1\n2026-02-01;00:00:15;3;6;9;1\n", formatRows, false},
	"rows with decimal commas":          {"t [s];400,0;410,0;420,0;430,0;lux\n0,0;1;4;7;0;77\n10,0;2;5;8;-1;78\n25,0;3;6;9;1;79\n", formatRows, false},
	"rows, descending, apart by spaces": {"timestamp 430 420 410 400\n2026-01-31 10:00:00 0 7 4 1\n2026-01-31 10:00:10 -1 8 5 2\n2026-01-31 10:00:25 1 9 6 3\n", formatRows, false},
	"rows out of order, one broken off": {"time,400,410,420,430\n10,2,5,8,-1\n0,1,4,7,0\n25,3,6,9,1\n30,4,5\n", formatRows, true},
	"rows without a corner":             {",400,410,420,430\n0:00,1,4,7,0\n0:10,2,5,8,-1\n0:25,3,6,9,1\n0:30,3,,9,1\n", formatRows, true},
	"long":                              {"time,wavelength,value\n0,400,1\n0,410,4\n0,420,7\n0,430,0\n10,400,2\n10,410,5\n10,420,8\n10,430,-1\n25,400,3\n25,410,6\n25,420,9\n25,430,1\n", formatLong, false},
	"long, other order": {"value;wavelength (nm);pixel;timestamp\n1;400;1;2026-01-31T10:00:00Z\n2;400;1;2026-01-31T10:00:10Z\n3;400;1;2026-01-31T10:00:25Z\n" +
		"4;410;2;2026-01-31T10:00:00Z\n5;410;2;2026-01-31T10:00:10Z\n6;410;2;2026-01-31T10:00:25Z\n7;420;3;2026-01-31T10:00:00Z\n8;420;3;2026-01-31T10:00:10Z\n9;420;3;2026-01-31T10:00:25Z\n" +
		"0;430;4;2026-01-31T10:00:00Z\n-1;430;4;2026-01-31T10:00:10Z\n1;430;4;2026-01-31T10:00:25Z\n", formatLong, false},
	"long, bare, with a hole": {"400\t0\t1\n410\t0\t4\n420\t0\t7\n430\t0\t0\n400\t10\t2\n410\t10\t5\n420\t10\t8\n430\t10\t-1\n400\t25\t3\n410\t25\t6\n420\t25\t9\n430\t25\t1\n400\t30\t1\n410\t30\tOL\n", formatLong, true},
}

func TestASeriesIsTheSameInEveryLayout(t *testing.T) {
	for name, c := range seriesTexts {
		t.Run(name, func(t *testing.T) {
			s, err := ReadSeries("x", strings.NewReader(c.text), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if s.Report.Format != c.format {
				t.Errorf("read as %s; want %s", s.Report.Format, c.format)
			}
			if !slices.Equal(s.Axis, []float64{400, 410, 420, 430}) || !slices.Equal(s.Times, []float64{0, 10, 25}) {
				t.Errorf("axis %v, times %v", s.Axis, s.Times)
			}
			if want := [][]float64{{1, 4, 7, 0}, {2, 5, 8, -1}, {3, 6, 9, 1}}; !slices.EqualFunc(s.Values, want, slices.Equal[[]float64]) {
				t.Errorf("values %v; want %v", s.Values, want)
			}
			if strings.Contains(c.text, "2026") == s.Start.IsZero() {
				t.Errorf("start %v", s.Start)
			}
			if warned := len(s.Report.Warnings) > 0; warned != c.warned {
				t.Errorf("skipped %v, warnings %q", s.Report.Skipped, s.Report.Warnings)
			}
			one, err := s.Spectrum(1)
			if err != nil || one.Len() != 4 {
				t.Errorf("%v, %v", one, err)
			}
		})
	}
}

func TestReadRefusesASeriesByItsName(t *testing.T) {
	want := map[string]string{
		formatRows: "with a spectrum in each row below; read it as a series of spectra",
		formatLong: "found a long table, with a time and a wavelength in each row; read it as a series of spectra",
	}
	for name, c := range seriesTexts {
		if c.format == formatColumns {
			continue // the first column is read, and a warning says so
		}
		_, err := Read("x", strings.NewReader(c.text), Options{})
		if err == nil || !strings.HasSuffix(err.Error(), want[c.format]) {
			t.Errorf("%s: %v", name, err)
		}
		if w, err := OpenWide("x", strings.NewReader(c.text), int64(len(c.text)), Options{}); err == nil || !strings.HasSuffix(err.Error(), want[c.format]) {
			t.Errorf("%s as a batch: %v, %v", name, w, err)
		}
	}
}

func TestNumbersAboveTheColumnsOfABatchAreNoWavelengths(t *testing.T) {
	for _, text := range []string{
		"Current (mA),350,400,450,500\nnm,1,2,3,4\n500,1.0,2,3,4\n510,1,2,3,4\n",
		",350,400,450,500\n500,1.0,2,3,4\n510,1,2,3,4\n520,1,2,3,4\n530,1,2,3,4\n",
		"wavelength,350,400,450,500\n500,1.0,2,3,4\n510,1,2,3,4\n",
	} {
		if w, err := OpenWide("x", strings.NewReader(text), int64(len(text)), Options{}); err != nil || w.Columns() != 4 || w.Axis[0] != 500 {
			t.Errorf("%q: %v", text, err)
		}
		if f, err := Read("x", strings.NewReader(text), Options{Column: 3}); err != nil || f.Spectrum.Values()[0] != 2 {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestUnitsOfASeriesAreApplied(t *testing.T) {
	for _, text := range []string{
		"time (s),wavelength (nm),irradiance (mW/m²/nm)\n0,400,1\n0,410,4\n5,400,2\n5,410,5\n",
		"Unit: mW/m²/nm\ntime,400,410,420,430\n0,1,4,1,1\n5,2,5,1,1\n",
	} {
		s, err := ReadSeries("x", strings.NewReader(text), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if s.Quantity != spectrum.Irradiance || s.Values[0][0] != 1e-3 || s.Values[1][1] != 5e-3 {
			t.Errorf("%v, %v", s.Quantity, s.Values)
		}
	}
}

func TestBadSeriesAreOneSentence(t *testing.T) {
	for _, c := range []struct {
		name, text string
		o          Options
		want       string
	}{
		{"empty", "", Options{}, "x: found nothing: the file is empty; a spectrum is rows of wavelength and value"},
		{"letters", "abc\n", Options{}, "x: found no rows of numbers; a spectrum is rows of a wavelength and a value"},
		{"one spectrum", "400,1\n410,2\n", Options{}, "x: found a single spectrum; a series has several, each with its time"},
		{"columns without times", "400,1,2\n410,2,3\n", Options{}, "x: found 2 columns without a time over each; a series has a row of times above its columns"},
		{"columns of lamps", "nm,red,blue\n400,1,2\n410,2,3\n", Options{}, "x, column “red”: found “red” where a time should be; write times as 2026-01-31T14:05:09, h:mm:ss, mm:ss or seconds"},
		{"either way", ",400,410,420,430\n500,1,2,3,4\n510,1,2,3,4\n520,1,2,3,4\n530,1,2,3,4\n", Options{}, "x, line 1: found a table whose first row and first column can both be wavelengths; head the first column “nm” or “time”"},
		{"a word for a time", "time,400,410,420,430\n0,1,2,3,4\nnoon,1,2,3,4\n", Options{}, "x, line 3: found “noon” where a time should be; write times as 2026-01-31T14:05:09, h:mm:ss, mm:ss or seconds"},
		{"a word for a value", "time,400,410,420,430\n0,1,2,3,4\n1,1,2,red,4\n", Options{}, "x, line 3, column “420”: found “red” where a value should be; correct or remove the line"},
		{"a second value", "time,nm,value\n0,400,1\n0,410,1\n5,400,1\n5,410,1\n5,410,2\n", Options{}, "x, line 6: found the time “5” and its wavelength a second time, with the value 2 where line 5 has 1; remove the wrong row"},
		{"holes in every spectrum", "time,nm,value\n0,400,1\n0,410,1\n5,400,1\n5,420,1\n", Options{}, "x: found no spectrum that has a value at every wavelength; a series needs complete spectra"},
		{"too many values", "time,400,410,420,430\n0,1,2,3,4\n1,1,2,3,4\n", Options{MaxValues: 7}, "x: found more than 7 values; a series is held in memory: cut it into shorter ones"},
		{"too many values in columns", "nm,0,10\n400,1,2\n410,2,3\n", Options{MaxValues: 3}, "x: found more than 3 values; a series is held in memory: cut it into shorter ones"},
		{"too many values in a long table", "time,nm,value\n0,400,1\n0,410,1\n5,400,1\n5,420,1\n", Options{MaxValues: 3}, "x: found more than 3 values; a series is held in memory: cut it into shorter ones"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ReadSeries("folder/x", strings.NewReader(c.text), c.o)
			var p *Problem
			if !errors.As(err, &p) || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
}

func TestEveryLayoutGivesTheSameBitsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		axis, l := []float64{}, rapid.Float64Range(200, 900).Draw(t, "from")
		for range rapid.IntRange(5, 12).Draw(t, "wavelengths") {
			axis = append(axis, l)
			l += rapid.Float64Range(0.1, 40).Draw(t, "step")
		}
		times, values := []float64{}, [][]float64{}
		for i := range rapid.IntRange(2, 6).Draw(t, "spectra") {
			times = append(times, float64(i)*0.5)
			values = append(values, rapid.SliceOfN(rapid.Float64Range(-1e3, 1e6), len(axis), len(axis)).Draw(t, "values"))
		}
		sep := rapid.SampledFrom([]string{",", ";", "\t", " ", "|"}).Draw(t, "separator")
		number := func(v float64) string { return strconv.FormatFloat(v, 'e', -1, 64) }
		plain := func(v float64) string {
			s := strconv.FormatFloat(v, 'f', -1, 64)
			if !strings.Contains(s, ".") {
				s += ".0"
			}
			return s
		}
		var b strings.Builder
		line := func(cells ...string) { b.WriteString(strings.Join(cells, sep) + "\n") }
		layout := rapid.SampledFrom([]string{formatColumns, formatRows, formatLong}).Draw(t, "layout")
		switch layout {
		case formatColumns:
			head := []string{"nm"}
			for _, s := range times {
				head = append(head, plain(s))
			}
			line(head...)
			for i, x := range axis {
				row := []string{plain(x)}
				for _, v := range values {
					row = append(row, number(v[i]))
				}
				line(row...)
			}
		case formatRows:
			head := []string{"time"}
			for _, x := range axis {
				head = append(head, plain(x))
			}
			line(head...)
			for i, s := range times {
				row := []string{plain(s)}
				for _, v := range values[i] {
					row = append(row, number(v))
				}
				line(row...)
			}
		case formatLong:
			order := rapid.Permutation([]int{0, 1, 2}).Draw(t, "columns")
			row := func(cells ...string) { line(cells[order[0]], cells[order[1]], cells[order[2]]) }
			row("time", "wavelength", "value")
			for i, s := range times {
				for k, x := range axis {
					row(plain(s), plain(x), number(values[i][k]))
				}
			}
		}
		s, err := ReadSeries("x", strings.NewReader(b.String()), Options{})
		if err != nil {
			t.Fatalf("%v\n%s", err, b.String())
		}
		if s.Report.Format != layout || !slices.Equal(s.Axis, axis) || !slices.Equal(s.Times, times) || !slices.EqualFunc(s.Values, values, slices.Equal[[]float64]) {
			t.Fatalf("%s: %v %v %v\nwant %v %v %v\n%s", s.Report.Format, s.Axis, s.Times, s.Values, axis, times, values, b.String())
		}
	})
}

func FuzzSeries(f *testing.F) {
	seed(f)
	for _, c := range seriesTexts {
		f.Add([]byte(c.text))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		for _, o := range []Options{{}, {WavelengthUnit: WavenumberDensity}, {Time: Serial}, {Column: 3}, {MaxValues: 100}} {
			s, err := ReadSeries("x", bytes.NewReader(raw), o)
			if err != nil {
				checkProblem(t, err)
				continue
			}
			checkReport(t, &s.Report)
			if err := spectrum.CheckAxis(s.Axis); err != nil {
				t.Fatal(err)
			}
			if len(s.Times) != len(s.Values) || s.Times[0] != 0 || !slices.IsSorted(s.Times) || math.IsInf(s.Times[len(s.Times)-1], 0) {
				t.Fatalf("times %v of %d spectra", s.Times, len(s.Values))
			}
			for i := range s.Values {
				if _, err := s.Spectrum(i); err != nil {
					t.Fatal(fmt.Errorf("spectrum %d: %w", i, err))
				}
			}
		}
	})
}

// A row for each time and wavelength: more lines than a spectrum may have.
func TestASeriesOfOverAMillionRowsIsRead(t *testing.T) {
	const times, wavelengths = 2700, 400
	var b bytes.Buffer
	b.WriteString("time_s,nm,value\n")
	for i := range times {
		for k := range wavelengths {
			fmt.Fprintf(&b, "%d,%d,%d\n", i, 380+k, k)
		}
	}
	s, err := ReadSeries("long.csv", &b, Options{})
	if err != nil || len(s.Values) != times || len(s.Axis) != wavelengths {
		t.Errorf("%v", err)
	}
}

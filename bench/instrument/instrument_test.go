package instrument

import (
	"bytes"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"lampassay/light/calibration"
)

// plain is a small instrument with every calibration, all invented.
func plain() *Instrument {
	const n = 64
	r := calibration.Response{FromNm: 420, ToNm: 800, Reference: "an invented lamp"}
	for nm := 420.0; nm <= 800; nm += 10 {
		r.Nm, r.Value = append(r.Nm, nm), append(r.Value, 0.5+nm/2000)
		r.U, r.Tilt = append(r.U, 0.01), append(r.Tilt, (560-nm)/5000)
	}
	return &Instrument{
		Format: Format, Version: Version, Name: "small one", Serial: "7", Notes: "invented",
		Pixels: n, FullScale: 4095, BlindBelowNm: 375,
		Wavelength: &Dated[calibration.Wavelength]{Made: day("2026-01-10"), Days: WavelengthDays, Files: []string{"neon.csv"}, Value: calibration.Wavelength{
			Dispersion: calibration.Dispersion{Model: calibration.Polynomial, Pixels: n, Coefficients: []float64{600, 230, -4}},
			Law:        "polynomial of order 2", FromNm: 436, ToNm: 703, Confident: true,
			Lines:     []calibration.AnchorLine{{Recording: "neon.csv", Line: "Ne I 640.225", Nm: 640.225, Pixel: 42.1, FWHMNm: 8, Used: true}},
			Bandwidth: calibration.Bandwidth{MiddleNm: 580, AtMiddleNm: 8, Lines: 12},
		}},
		Shift:       &Dated[calibration.Shift]{Made: day("2026-11-25"), Days: ShiftDays, Value: calibration.Shift{Pixels: 0.4, U: 0.02, Lines: 9}},
		Linearity:   &Dated[calibration.Linearity]{Made: day("2026-01-10"), Value: calibration.Linearity{FullScale: 4095, Coefficients: []float64{-0.02}}},
		Stray:       &Dated[calibration.Stray]{Made: day("2026-01-10"), Days: StrayDays, Value: calibration.Stray{Share: 1e-4}},
		SecondOrder: &Dated[calibration.SecondOrder]{Made: day("2026-01-10"), Value: calibration.SecondOrder{Nm: []float64{405}, Ratio: []float64{0.01}}},
		Response:    &Dated[calibration.Response]{Made: day("2026-01-10"), Days: ResponseDays, Value: r},
	}
}

func frame(n int, ms float64, f func(p int) float64) calibration.Frame {
	c := make([]float64, n)
	for p := range c {
		c[p] = f(p)
	}
	return calibration.Frame{Counts: c, ExposureMs: ms}
}

func plainMeasurement() Measurement {
	light := func(p int) float64 { return 200 + 3000*math.Exp(-math.Pow((float64(p)-30)/12, 2)) }
	return Measurement{
		Frames: []calibration.Frame{frame(64, 100, light), frame(64, 100, light)},
		Darks:  []calibration.Frame{frame(64, 100, func(int) float64 { return 200 })},
	}
}

func TestAnInstrumentIsReadAsItWasWritten(t *testing.T) {
	var first, second bytes.Buffer
	in := plain()
	if err := in.Write(&first); err != nil {
		t.Fatal(err)
	}
	back, err := Read(bytes.NewReader(first.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(in, back) {
		t.Errorf("got %+v, want %+v", back, in)
	}
	if err := back.Write(&second); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(first.Bytes(), second.Bytes()) {
		t.Error("the same instrument is not written in the same bytes")
	}
}

func TestFaultyFilesAreRefusedInASentence(t *testing.T) {
	var good bytes.Buffer
	if err := plain().Write(&good); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ old, new, says string }{
		{`"version": 1`, `"version": 2`, "reads up to 1"},
		{Format, "a recipe", "no instrument file"},
		{`"serial"`, `"cereal"`, `unknown field "cereal"`},
		{`"2026-01-10"`, `"yesterday"`, "no day"},
		{`"pixels": 64,`, `"pixels": 63,`, "63 pixels"},
		{"0.71,", "0,", "response is 0 at 420 nm"},
		{`"polynomial"`, `"spline"`, "unknown dispersion model"},
		{"{", "", "no instrument file"},
		{`"full_scale": 4095`, `"full_scale": -1`, "saturates at -1"},
	} {
		text := strings.Replace(good.String(), c.old, c.new, 1)
		if text == good.String() {
			t.Fatalf("%q is not in the file", c.old)
		}
		if _, err := Read(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", c.new, err, c.says)
		}
	}
}

func FuzzRead(f *testing.F) {
	var good bytes.Buffer
	if err := plain().Write(&good); err != nil {
		f.Fatal(err)
	}
	f.Add(good.Bytes())
	f.Add([]byte(`{"format":"lampassay instrument","version":1,"name":"x","pixels":8}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		in, err := Read(bytes.NewReader(b))
		if err != nil {
			return
		}
		// What is accepted can be used, or says in an error why not.
		if in.Pixels > 1e4 {
			return
		}
		in.Overdue(day("2026-06-01"))
		_, err = in.Correct(Measurement{Frames: []calibration.Frame{frame(in.Pixels, 10, func(p int) float64 { return float64(p % 7) })}}, Options{Bandwidth: true})
		if err != nil && !strings.HasPrefix(err.Error(), "instrument: ") {
			t.Errorf("not this package's error: %v", err)
		}
	})
}

func TestCalibrationsExpire(t *testing.T) {
	in := plain()
	for _, c := range []struct {
		today string
		says  []string
	}{
		{"2026-11-25", nil},
		{"2026-11-27", []string{"the shift calibration of 25\u00a0Nov\u00a02026 was to be trusted for 1 days and is 2 days old"}},
		{"2027-02-01", []string{"wavelength", "shift", "stray-light", "response"}},
		{"2025-01-01", []string{"has not come yet"}},
	} {
		got := strings.Join(in.Overdue(day(c.today)), "; ")
		if len(c.says) == 0 && got != "" {
			t.Errorf("%s: %s", c.today, got)
		}
		for _, s := range c.says {
			if !strings.Contains(got, s) {
				t.Errorf("%s: %q, want %q", c.today, got, s)
			}
		}
	}
	bare := &Instrument{Format: Format, Version: 1, Name: "bare", Pixels: 64}
	if got := bare.Overdue(day("2026-01-01")); len(got) != 2 {
		t.Errorf("a bare instrument lacks %v", got)
	}
}

func TestTheChainIsInOrderAndRecorded(t *testing.T) {
	c, err := plain().Correct(plainMeasurement(), Options{Bandwidth: true})
	if err != nil {
		t.Fatal(err)
	}
	order := []StepName{StepClip, StepDark, StepLinearity, StepStitch, StepWavelength, StepStray, StepSecondOrder, StepResponse, StepBandwidth}
	if len(c.Steps) != len(order) {
		t.Fatalf("%d steps, want %d", len(c.Steps), len(order))
	}
	for i, s := range c.Steps {
		if s.Name != order[i] || s.Note == "" || len(s.Before.Y) == 0 || len(s.After.Y) == 0 || len(s.After.X) != len(s.After.Y) {
			t.Errorf("step %d: %+v", i, s)
		}
		if i > 0 && !reflect.DeepEqual(s.Before, c.Steps[i-1].After) {
			t.Errorf("%s does not begin where %s ended", s.Name, c.Steps[i-1].Name)
		}
		// An uneven axis is no case for the five-point formula.
		if made := s.Name != StepBandwidth; s.Made != made {
			t.Errorf("%s: made %v: %s", s.Name, s.Made, s.Note)
		}
	}
	if from, to := c.Spectrum.Range(); from < 420 || to > 800 {
		t.Errorf("the spectrum reaches %.1f–%.1f nm, beyond the response", from, to)
	}
}

func TestAStepLeftOutIsAStepUndone(t *testing.T) {
	in, m := plain(), plainMeasurement()
	raw := slices.Clone(m.Frames[0].Counts)
	full, err := in.Correct(m, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []StepName{StepClip, StepDark, StepLinearity, StepStray, StepSecondOrder, StepResponse} {
		less, err := in.Correct(m, Options{Skip: []StepName{name}})
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(less.Steps, func(s Step) bool { return s.Name == name })
		if less.Steps[i].Made || !reflect.DeepEqual(less.Steps[i].Before, less.Steps[i].After) {
			t.Errorf("%s was made: %+v", name, less.Steps[i])
		}
		if name != StepClip && reflect.DeepEqual(less.Spectrum.Values(), full.Spectrum.Values()) {
			t.Errorf("%s makes no difference", name)
		}
		again, err := in.Correct(m, Options{})
		if err != nil || !reflect.DeepEqual(again.Spectrum, full.Spectrum) {
			t.Errorf("with %s put back the spectrum is another: %v", name, err)
		}
	}
	if !slices.Equal(raw, m.Frames[0].Counts) {
		t.Error("the raw frames were changed")
	}
}

func TestASensorReadBackwardsIsTurnedRound(t *testing.T) {
	in, m := plain(), plainMeasurement()
	want, err := in.Correct(m, Options{})
	if err != nil {
		t.Fatal(err)
	}
	in.Backwards = true
	for _, frames := range [][]calibration.Frame{m.Frames, m.Darks} {
		for _, f := range frames {
			slices.Reverse(f.Counts)
		}
	}
	got, err := in.Correct(m, Options{})
	if err != nil || !reflect.DeepEqual(got.Spectrum, want.Spectrum) {
		t.Errorf("the spectrum is another: %v", err)
	}
}

func TestTheShiftOfTheDayMovesTheAxis(t *testing.T) {
	in := plain()
	with, err := in.Dispersion()
	if err != nil {
		t.Fatal(err)
	}
	if a, b := with.At(20.4), in.Wavelength.Value.Dispersion.At(20); math.Abs(a-b) > 1e-9 {
		t.Errorf("%.4f nm, want %.4f nm", a, b)
	}
	// A shift found before the axis was calibrated anew belongs to the old one.
	in.Wavelength.Made = day("2026-11-26")
	if d, _ := in.Dispersion(); d.Shift != 0 {
		t.Error("an old shift moves a new axis")
	}
}

func TestMeasurementsThatDoNotFitAreRefusedInASentence(t *testing.T) {
	for _, c := range []struct {
		says  string
		spoil func(in *Instrument, m *Measurement)
	}{
		{"no frames", func(_ *Instrument, m *Measurement) { m.Frames = nil }},
		{"another instrument", func(_ *Instrument, m *Measurement) { m.Frames[1] = frame(32, 100, func(int) float64 { return 1 }) }},
		{"no exposure time", func(_ *Instrument, m *Measurement) { m.Frames[0].ExposureMs = 0 }},
		{"not a finite number", func(_ *Instrument, m *Measurement) { m.Frames[0].Counts[5] = math.Inf(1) }},
		{"no dark was recorded at 100 ms", func(_ *Instrument, m *Measurement) { m.Darks[0].ExposureMs = 50 }},
		{"swapped", func(_ *Instrument, m *Measurement) { m.Frames, m.Darks = m.Darks, m.Frames }},
		{"no wavelength calibration", func(in *Instrument, _ *Measurement) { in.Wavelength = nil }},
		{"outside the response", func(in *Instrument, _ *Measurement) {
			r := &in.Response.Value
			for i := range r.Nm {
				r.Nm[i] += 800
			}
		}},
		{"drifted", func(_ *Instrument, m *Measurement) {
			m.Frames = append(m.Frames, frame(64, 50, func(p int) float64 {
				return 200 + 1800*math.Exp(-math.Pow((float64(p)-30)/12, 2))
			}))
			m.Darks = append(m.Darks, frame(64, 50, func(int) float64 { return 200 }))
		}},
	} {
		in, m := plain(), plainMeasurement()
		c.spoil(in, &m)
		if _, err := in.Correct(m, Options{}); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v, want %q", err, c.says)
		}
	}
}

func TestCountsWithoutAResponseStayCounts(t *testing.T) {
	in := plain()
	in.Response = nil
	c, err := in.Correct(plainMeasurement(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if q := c.Spectrum.Quantity().String(); q != "counts" {
		t.Errorf("the ordinate is %s", q)
	}
}

package evidence_test

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"lampassay/assay"
	"lampassay/assay/uncertainty"
	"lampassay/bench/evidence"
	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
	"lampassay/light/calibration"
	"lampassay/light/spectrum"
)

// small is an invented instrument of as many pixels as axis has samples.
func small() *instrument.Instrument {
	nm := axis()
	r := calibration.Response{Nm: nm, FromNm: nm[0], ToNm: nm[len(nm)-1], Reference: "an invented lamp"}
	for _, l := range nm {
		r.Value, r.U, r.Tilt = append(r.Value, 0.5+l/2000), append(r.U, 0.01), append(r.Tilt, (560-l)/5000)
	}
	made := instrument.Day{Time: time.Date(2026, 3, 1, 0, 0, 0, 0, time.UTC)}
	return &instrument.Instrument{
		Format: instrument.Format, Version: instrument.Version, Name: "Club no. 4", Pixels: len(nm), FullScale: 65535,
		Wavelength: &instrument.Dated[calibration.Wavelength]{Made: made, Days: 365, Value: calibration.Wavelength{
			Dispersion: calibration.Dispersion{Model: calibration.Polynomial, Pixels: len(nm), Coefficients: []float64{580, 200}},
			Law:        "polynomial of order 1", FromNm: 400, ToNm: 760, Confident: true, UNm: 0.05,
		}},
		Response: &instrument.Dated[calibration.Response]{Made: made, Days: 365, Value: r},
	}
}

// owns gives the sitting a spectrometer with its own file.
func (b *bench) owns(in *instrument.Instrument) *notebook.Instrument {
	b.Helper()
	var raw bytes.Buffer
	if err := in.Write(&raw); err != nil {
		b.Fatal(err)
	}
	file := must(b.nb.Keep(b.Context(), "club-4.json", "application/json", &raw))
	kept := must(b.nb.Instruments().Add(b.Context(), notebook.Instrument{Name: in.Name, Sort: "spectrometer", File: &file}))
	b.sit.Instruments = append(b.sit.Instruments, kept.ID)
	b.sit = must(b.nb.Sittings().Update(b.Context(), *b.sit))
	return kept
}

// counted records glow as raw counts on a dark of 900.
func (b *bench) counted(k int, exposureMs float64) int64 {
	b.Helper()
	values := glow(k)
	for i := range values {
		values[i] = math.Round(900 + 30000*values[i])
	}
	return b.append(notebook.Reading{Channel: "spectrometer", Curve: &notebook.Curve{Quantity: "counts", Axis: axis(), Samples: values, ExposureMs: exposureMs}})
}

func (b *bench) dark(exposureMs float64) int64 {
	b.Helper()
	values := make([]float64, len(axis()))
	for i := range values {
		values[i] = 900
	}
	return b.append(notebook.Reading{Channel: "spectrometer", Curve: &notebook.Curve{Quantity: "counts", Axis: axis(), Samples: values, ExposureMs: exposureMs}})
}

func TestRawCountsGoThroughTheInstrumentsOwnFile(t *testing.T) {
	b := newBench(t)
	in := b.owns(small())
	light := b.counted(1, 40)
	dark := b.dark(40)
	e, err := b.gather(evidence.Ask{Instrument: in.ID, DarkFrom: dark, DarkTo: dark})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(e.Readings, []int64{light}) {
		t.Errorf("the spectrum is of readings %d: the dark was taken for the lamp", e.Readings)
	}
	// Counts less dark over exposure and response, by hand.
	for i, v := range e.Spectrum.Values() {
		want := math.Round(30000*glow(1)[i]) / 40 / (0.5 + axis()[i]/2000)
		if math.Abs(v-want) > 1e-9*want {
			t.Fatalf("at %g nm the spectrum is %g, not %g", axis()[i], v, want)
		}
	}
	if e.Spectrum.Quantity() != spectrum.Relative || e.Projection != spectrum.Sampled {
		t.Errorf("the spectrum is %s, and %s", e.Spectrum.Quantity(), e.Projection)
	}
	// How sure it is comes from the file, exactly as the instrument itself says.
	r := evaluated(t, e)
	c, _, err := e.Case(r)
	if err != nil {
		t.Fatal(err)
	}
	class := must(uncertainty.SpectrometerClass("compact"))
	known := must(small().Sureness(e.Applied.Measurement, e.Applied.Corrected, instrument.Options{}, class))
	if c.Known == nil || c.Known.Name != "Club no. 4" || len(c.Known.Curves) != len(known.Curves) || c.Known.Axis.Nm == nil && known.Axis.Nm != nil {
		t.Errorf("the spectrometer is taken for %+v", c.Known)
	}
	if at := slices.IndexFunc(e.Inputs, func(i notebook.Input) bool { return i.What == evidence.InstrumentFile }); at < 0 || e.Inputs[at].SHA256 != in.File.SHA256 || len(e.Files) != 1 {
		t.Errorf("the inputs %v do not name the instrument's file", e.Inputs)
	}

	// Calibrated anew, the assay still reads the file that it names.
	other := small()
	other.Response.Value.Value = slices.Repeat([]float64{1}, len(axis()))
	var raw bytes.Buffer
	if err := other.Write(&raw); err != nil {
		t.Fatal(err)
	}
	file := must(b.nb.Keep(t.Context(), "club-4.json", "application/json", &raw))
	in.File = &file
	must(b.nb.Instruments().Update(t.Context(), *in))
	again, err := evidence.Take(t.Context(), b.nb, b.sit, e.Inputs, e.Terms)
	if err != nil || !slices.Equal(again.Spectrum.Values(), e.Spectrum.Values()) {
		t.Errorf("read again the spectrum is another one (%v)", err)
	}
}

func evaluated(t *testing.T, e *evidence.Evidence) *assay.Result {
	t.Helper()
	p, err := e.Spectrum.Project(e.Projection)
	if err != nil {
		t.Fatal(err)
	}
	r := new(assay.Result)
	assay.NewEvaluator().Evaluate(p, &e.Given, r)
	return r
}

func TestRawCountsThatCannotBeCorrectedAreRefusedInASentence(t *testing.T) {
	b := newBench(t)
	in := b.owns(small())
	n := b.counted(1, 0)
	ask := evidence.Ask{Instrument: in.ID}
	b.refused(ask, fmt.Sprintf("reading %d: a recording does not tell its exposure time: state it, in ms", n))
	timed := ask
	timed.Terms.ExposureMs = 40
	e, err := b.gather(timed)
	if err != nil {
		t.Fatal(err)
	}
	if got := e.Terms.Methods()[evidence.MethodExposure]; got != "40" {
		t.Errorf("the exposure is kept as %q", got)
	}
	b.refused(evidence.Ask{Instrument: in.ID, DarkFrom: 1, DarkTo: 1}, "no spectrum yet") // the only one is the dark
	dark := b.dark(100)
	timed.DarkFrom, timed.DarkTo = dark, dark
	b.refused(timed, "no dark was recorded at 40 ms: a dark serves its own exposure only")
	b.refused(evidence.Ask{DarkFrom: dark, DarkTo: dark}, "a dark is for raw counts that an instrument's file corrects")
	timed.DarkFrom, timed.DarkTo = 3, 2
	b.refused(timed, "3 to 2 is none")
	b.spectrum(1)
	b.refused(ask, "holds relative, not raw counts: the file of Club no. 4 is not applied to what was corrected before")
	bare := must(b.nb.Instruments().Add(t.Context(), notebook.Instrument{Name: "Old one"}))
	b.refused(evidence.Ask{Instrument: bare.ID}, "Old one has no file of its own yet")
}

func TestASittingFileSaysHowSureEachInputIs(t *testing.T) {
	b := newBench(t)
	b.spectrum(1)
	keep := func(text string) *notebook.Attachment {
		a := must(b.nb.Keep(t.Context(), "better.json", "application/json", strings.NewReader(text)))
		return &a
	}
	const head = `{"format": "lampassay sitting", "version": 1, "defaults": {"spectrometer": "bench"}`
	e, err := b.gather(evidence.Ask{SittingFile: keep(head + `, "measured": {"power": {"value": 45.2, "unit": "W", "u": 0.1}}}`), Terms: evidence.Terms{Class: "home"}})
	if err != nil {
		t.Fatal(err)
	}
	if e.Given.Power != assay.Measured(45.2) || !e.Given.Source.Mains {
		t.Errorf("the file's power is not what was measured: %+v", e.Given)
	}
	c, k, err := e.Case(evaluated(t, e))
	if err != nil {
		t.Fatal(err)
	}
	if c.Defaults.Spectrometer != "bench" || k.Given.Power.Known || e.Terms.Class != "" {
		t.Errorf("the class is %q and the power beside it %+v", c.Defaults.Spectrometer, k.Given)
	}
	b.value("power", "W", 44)
	b.refused(evidence.Ask{SittingFile: keep(head + `, "measured": {"power": {"value": 45.2, "unit": "W"}}}`)}, "the power is in the sitting file and given beside it: use one")
	b.refused(evidence.Ask{SittingFile: keep(head + `, "repeats": ["a.csv"]}`)}, "average recordings of the sitting")
	b.refused(evidence.Ask{SittingFile: keep(`{"format": "lampassay sitting", "version": 1, "colour": 3}`)}, "colour")
}

func TestTheSetUpSaysHowTheFluxWasMeasured(t *testing.T) {
	b := newBench(t)
	b.spectrum(1)
	b.value("luminous_flux", "lm", 806)
	half := 0.5
	b.sit.SetUp.Geometry, b.sit.SetUp.DistanceM = "lux at a distance", &half
	e, err := b.gather(evidence.Ask{Terms: evidence.Usual(b.sit)})
	if err != nil {
		t.Fatal(err)
	}
	c, k, err := e.Case(evaluated(t, e))
	if err != nil {
		t.Fatal(err)
	}
	s, err := c.Sitting(k.Spectrum, k.Kind, k.Given)
	if err != nil {
		t.Fatal(err)
	}
	at := slices.IndexFunc(s.Factors, func(f uncertainty.Factor) bool { return f.Name == uncertainty.Distance })
	if at < 0 {
		t.Fatal("the distance is no input")
	}
	// A centimetre in half a metre.
	if f := s.Factors[at]; math.Abs(f.Distribution.U()-0.02) > 1e-12 || f.Source != uncertainty.OwnEstimate {
		t.Errorf("the distance has u = %g, from %s", f.Distribution.U(), f.Source)
	}
	for geometry, route := range map[string]string{"sphere": "sphere-label", "bounce box": "sphere-label", "spectrum only": "unstated", "": "unstated"} {
		b.sit.SetUp.Geometry = geometry
		if got := evidence.Usual(b.sit).Route; got != route {
			t.Errorf("of %q the route is %q, not %q", geometry, got, route)
		}
	}
}

package webapp

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"net/url"
	"testing"
	"time"

	"lampassay/assay"
	"lampassay/assay/quantity"
	"lampassay/assay/uncertainty"
	"lampassay/bench/ingest"
	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
	"lampassay/bench/tidewater"
	"lampassay/light/calibration"
	"lampassay/light/emission"
	"lampassay/light/spectrum"
)

// sit begins a sitting with a lamp.
func (b *bench) sit(set notebook.SetUp, instruments ...notebook.ID) notebook.ID {
	b.Helper()
	lamp, err := b.nb.Lamps().Add(b.Context(), notebook.Lamp{Name: "Harbour panel"})
	if err != nil {
		b.Fatal(err)
	}
	sit, err := b.nb.Sittings().Add(b.Context(), notebook.Sitting{Lamp: lamp.ID, Title: "At the bench", Started: time.Now().UTC(), SetUp: set, Instruments: instruments})
	if err != nil {
		b.Fatal(err)
	}
	return sit.ID
}

func (b *bench) append(sit notebook.ID, r notebook.Reading) int64 {
	b.Helper()
	r.At = time.Now().UTC()
	n, err := b.nb.Append(b.Context(), sit, []notebook.Reading{r})
	if err != nil {
		b.Fatal(err)
	}
	return n
}

// harbour are recordings of the club's Harbour panel, with noise between them.
// Invented.
func harbour(t *testing.T, n int) (nm []float64, recorded [][]float64) {
	t.Helper()
	var file bytes.Buffer
	if err := tidewater.Lamps()[1].Write(&file); err != nil {
		t.Fatal(err)
	}
	f, err := ingest.Read("lamp", &file, ingest.Options{})
	if err != nil {
		t.Fatal(err)
	}
	nm = f.Spectrum.Axis()
	for k := range n {
		v := f.Spectrum.Values()
		own := make([]float64, len(v))
		for i := range v {
			own[i] = v[i] * (1 + 0.004*math.Sin(float64(k+1)*nm[i]/7))
		}
		recorded = append(recorded, own)
	}
	return nm, recorded
}

// made posts the form of an assay and returns what was kept.
func (b *bench) made(sit notebook.ID, fields url.Values) *notebook.Assay {
	b.Helper()
	done := b.must(fmt.Sprintf("/sittings/%d/assay", sit), fields)
	a, err := b.nb.Assays().Get(b.Context(), b.numberIn(done.path, `^/assays/(\d+)`))
	if err != nil {
		b.Fatal(err)
	}
	return a
}

// recorded is a figure of a kept record.
type recorded struct {
	Value float64 `json:"value"`
	U     float64 `json:"u"`
}

func figures(t *testing.T, a *notebook.Assay) map[string]recorded {
	t.Helper()
	var r struct {
		Quantities map[string]recorded `json:"quantities"`
	}
	if err := json.Unmarshal(a.Record, &r); err != nil || len(r.Quantities) == 0 {
		t.Fatalf("the record of assay %d has no quantities (%v)", a.ID, err)
	}
	return r.Quantities
}

// same holds the figures of a kept record against a result.
func same(t *testing.T, a *notebook.Assay, want *assay.Result) {
	t.Helper()
	got := figures(t, a)
	for _, id := range []quantity.ID{quantity.CCT, quantity.Duv, quantity.Ra, quantity.Rf, quantity.LuminousEfficacy} {
		key := quantity.Get(id).Key
		v, ok := want.Value(id)
		if !ok {
			continue
		}
		// A record has ten digits of a value and five of its uncertainty.
		if g := got[key]; math.Abs(g.Value-v) > 5e-10*math.Abs(v) || math.Abs(g.U-want.Spread(id).U) > 5e-5*g.U {
			t.Errorf("%s is %g ± %g on the page, and %g ± %g of the same inputs", key, g.Value, g.U, v, want.Spread(id).U)
		}
	}
}

// assess is how the command line assays a spectrum.
func assess(t *testing.T, s *spectrum.Spectrum, given assay.Given, repeats *uncertainty.Repeats, change func(*uncertainty.Conditions, *uncertainty.Case)) *assay.Result {
	t.Helper()
	p, err := s.Project(spectrum.Sampled)
	if err != nil {
		t.Fatal(err)
	}
	r := new(assay.Result)
	assay.NewEvaluator().Evaluate(p, &given, r)
	if r.Emission, err = emission.Analyse(s, emission.Options{}); err != nil {
		t.Fatal(err)
	}
	c := &uncertainty.Conditions{Defaults: uncertainty.Usual()}
	c.Defaults.Lamp = uncertainty.LampOfFamily(r.Emission.Family.Key).String()
	k := &uncertainty.Case{Spectrum: s, Kind: spectrum.Sampled, Given: given, Result: r, Repeats: repeats}
	change(c, k)
	if _, err := c.Assess(t.Context(), k, uncertainty.Options{Seed: 1, Draws: testDraws}); err != nil {
		t.Fatal(err)
	}
	return r
}

func TestAMeanOnThePageHasTheFiguresOfTheSameSpectraAveragedElsewhere(t *testing.T) {
	b := newBench(t)
	sit := b.sit(notebook.SetUp{})
	nm, spectra := harbour(t, 6)
	for _, v := range spectra {
		b.append(sit, notebook.Reading{Channel: "spectrometer", Curve: &notebook.Curve{Quantity: "relative", Axis: nm, Samples: v}})
		lux := 400.0
		b.append(sit, notebook.Reading{Channel: "lux", Values: []notebook.Value{{Key: "illuminance", V: &lux, Unit: "lx"}}})
	}
	page := b.page("/sittings/1")
	want(t, page, "the latest spectrum, reading 11", "the mean of the latest 4", "the mean of all 6 in this sitting")
	a := b.made(sit, url.Values{"spectra": {"6"}, "projection": {"sampled"}})

	mean, repeats, err := uncertainty.RepeatedSpectra(spectra, false)
	if err != nil {
		t.Fatal(err)
	}
	s, err := spectrum.New(spectrum.Relative, nm, mean)
	if err != nil {
		t.Fatal(err)
	}
	same(t, a, assess(t, s, assay.Given{}, &repeats, func(_ *uncertainty.Conditions, k *uncertainty.Case) {
		if e := k.Result.Emission; e.BandwidthMeasured {
			k.Bandwidth = e.Bandwidth
		}
	}))
	sheet := b.page(fmt.Sprintf("/assays/%d", a.ID))
	want(t, sheet, "The mean of 6 spectra, readings 1–11.", "readings 1, 3, 5, 7, 9, 11, chain", "repeats of the spectrum", "the scatter of 6 spectra")
	if !bytes.Contains(a.Record, []byte(`"mean_of":{"spectra":6,"readings":[1,3,5,7,9,11]}`)) {
		t.Error("the record does not say of what the spectrum is the mean")
	}
	alone := b.made(sit, url.Values{"projection": {"sampled"}})
	if figures(t, alone)["cct"] == figures(t, a)["cct"] {
		t.Error("the latest spectrum alone has the figures of the mean")
	}
}

// clubSpectrometer calibrates the club's spectrometer by its own recordings, as the
// command line does, and keeps it.
func (b *bench) clubSpectrometer() (*instrument.Instrument, *notebook.Instrument) {
	b.Helper()
	own := &instrument.Instrument{Format: instrument.Format, Version: instrument.Version, Name: "Club no. 3", Pixels: 1024, FullScale: tidewater.ClubFullScale, BlindBelowNm: tidewater.ClubBlindBelow}
	lines := instrument.Measurement{Frames: []calibration.Frame{clubFrame(b.T, "mercury-argon.csv")}, Darks: []calibration.Frame{clubFrame(b.T, "dark-40ms.csv")}}
	counts, clipped, err := own.Counts(lines)
	if err != nil {
		b.Fatal(err)
	}
	lamp, err := calibration.LampByName("mercury-argon")
	if err != nil {
		b.Fatal(err)
	}
	w, err := calibration.CalibrateWavelength([]calibration.Recording{{Name: "mercury-argon.csv", Lamp: lamp, Counts: counts, Clipped: clipped}}, calibration.Expected{})
	if err != nil {
		b.Fatal(err)
	}
	day := instrument.DayOf(time.Now())
	own.Wavelength = &instrument.Dated[calibration.Wavelength]{Made: day, Days: instrument.WavelengthDays, Value: *w}
	filtered := instrument.Measurement{Frames: []calibration.Frame{clubFrame(b.T, "halogen-orange-filter.csv")}, Darks: []calibration.Frame{clubFrame(b.T, "dark-100ms.csv")}}
	stray, _, err := own.CalibrateStray(filtered, tidewater.ClubFilterEdge)
	if err != nil {
		b.Fatal(err)
	}
	own.Stray = &instrument.Dated[calibration.Stray]{Made: day, Days: instrument.StrayDays, Value: stray}
	ref, err := calibration.TungstenReference(tidewater.ClubHalogenCCT, 30)
	if err != nil {
		b.Fatal(err)
	}
	made, err := own.CalibrateResponse(instrument.Measurement{Frames: []calibration.Frame{clubFrame(b.T, "halogen.csv")}, Darks: []calibration.Frame{clubFrame(b.T, "dark-100ms.csv")}}, ref)
	if err != nil {
		b.Fatal(err)
	}
	own.Response = &instrument.Dated[calibration.Response]{Made: day, Days: instrument.ResponseDays, Value: made.Response}
	var raw bytes.Buffer
	if err := own.Write(&raw); err != nil {
		b.Fatal(err)
	}
	file, err := b.nb.Keep(b.Context(), "club-3.json", "application/json", &raw)
	if err != nil {
		b.Fatal(err)
	}
	kept, err := b.nb.Instruments().Add(b.Context(), notebook.Instrument{Name: own.Name, Sort: "spectrometer", File: &file})
	if err != nil {
		b.Fatal(err)
	}
	return own, kept
}

package webapp

import (
	"net/url"
	"strings"
	"testing"

	"lampassay/bench/notebook"
)

// harbourSpectra keeps spectra of the harbour panel, each times a number.
func harbourSpectra(b *bench, sit notebook.ID, times ...float64) {
	b.Helper()
	nm, spectra := harbour(b.T, 1)
	for _, k := range times {
		values := make([]float64, len(nm))
		for i, v := range spectra[0] {
			values[i] = k * v
		}
		b.append(sit, notebook.Reading{Channel: "spectrometer", Curve: &notebook.Curve{Quantity: "relative", Axis: nm, Samples: values}})
	}
}

func TestALampThatWasSwitchedOffAtTheEndIsAssayedByItsLight(t *testing.T) {
	b := newBench(t)
	sit := b.sit(notebook.SetUp{PowerAt: powerAtMains})
	value := func(key, unit string, v float64) {
		b.append(sit, notebook.Reading{Channel: "meter", Values: []notebook.Value{{Key: key, V: &v, Unit: unit}}})
	}
	harbourSpectra(b, sit, 1)
	value("luminous_flux", "klm", 5.2)
	value("power", "kW", 0.058)
	value("power", "W", 0)
	harbourSpectra(b, sit, 0.001)
	page := textOf(b.page("/sittings/1"))
	want(t, page, "The latest spectrum, reading 5, holds next to none of the light", "Reading 1 is the last with light", "the last lit spectrum, reading 1", "the latest spectrum, reading 5, without light")

	made := textOf(b.must("/sittings/1/assay", url.Values{"spectra": {"1@1"}}).body)
	want(t, made, "The power is that of reading 3, 58 W; the later reading 4 is passed over: it is 0 W, and only one above 0 W can be used.")
	a, err := b.nb.Assays().Get(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	if a.Inputs[0].To != 1 || a.Figures["luminous_flux"] != 5200 || a.Figures["power"] != 58 {
		t.Errorf("reading %d was assayed, with %g lm and %g W", a.Inputs[0].To, a.Figures["luminous_flux"], a.Figures["power"])
	}
	bad := b.post("/sittings/1/assay", url.Values{"spectra": {"1@soon"}})
	want(t, textOf(bad.body), "“1@soon” names no spectra of this sitting")
}

func TestNoPowerOfAMeterIsAFaultOfTheProgram(t *testing.T) {
	for _, v := range []float64{0, -5, 9.9e37, 1e300, 1e-300, -1e300} {
		b := newBench(t)
		sit := b.sit(notebook.SetUp{})
		harbourSpectra(b, sit, 1)
		b.append(sit, notebook.Reading{Channel: "meter", Values: []notebook.Value{{Key: "power", V: &v, Unit: "W"}, {Key: "luminous_flux", V: &v, Unit: "lm"}}})
		if made := textOf(b.must("/sittings/1/assay", nil).body); !strings.Contains(made, "No reading of power can be used, so this is computed without") {
			t.Errorf("with %g W and %g lm the assay does not say that they cannot be used", v, v)
		}
	}
}

func TestANumberThatCannotBeIsRefusedBesideItsField(t *testing.T) {
	b := newBench(t)
	b.sit(notebook.SetUp{})
	for field, all := range map[string][]string{
		"power":         {"-5", "9.9E37", "1e300"},
		"power_lamp":    {"-0,1"},
		"luminous_flux": {"-1", "9.91E37"},
		"illuminance":   {"-3"},
		"temperature":   {"-300"},
	} {
		for _, text := range all {
			got := b.post("/sittings/1/reading", url.Values{field: {text}})
			if !strings.Contains(got.body, `id="reading-`+field+`-fault"`) || !strings.Contains(textOf(got.body), "cannot be: from") {
				t.Errorf("%s %s is answered with %d and no sentence beside it", field, text, got.status)
			}
		}
	}
	if tally, err := b.nb.Tally(t.Context(), 1); err != nil || tally.Readings != 0 {
		t.Errorf("%d readings were kept (%v)", tally.Readings, err)
	}
	b.must("/sittings/1/reading", url.Values{"power": {"0"}, "temperature": {"-40"}}) // off, and cold
	got := b.post("/sittings/1/strike", url.Values{"from": {"1"}, "to": {"999999"}, "reason": {"a train went by"}})
	if !strings.Contains(got.body, `id="strike-to-fault"`) {
		t.Errorf("readings that are not there yet are set aside: %d", got.status)
	}
}

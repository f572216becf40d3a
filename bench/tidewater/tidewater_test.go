package tidewater

import (
	"bytes"
	"math"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"lampassay/bench/ingest"
	"lampassay/light/colorimetry"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

const km = 683.002 // lm/W, CIE 018:2019

func projected(t *testing.T, s *spectrum.Spectrum, kind spectrum.Projection) *spectrum.Projected {
	t.Helper()
	p, err := s.Project(kind)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func file(t *testing.T, l Lamp) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := l.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestEachLampIsOneOfItsKind(t *testing.T) {
	// Ranges of colour temperature (K), Ra, efficacy at the mains (lm/W) and
	// luminous efficacy of what the file covers (lm/W). The first three are
	// handbook ranges of each technology, widened where the lamp is of another
	// size; for plausibility, not as checks of a measurement.
	type span struct{ from, to float64 }
	kinds := map[string]struct{ cct, duv, ra, efficacy, ler span }{
		"halogen":              {span{2850, 3000}, span{-.002, .002}, span{99, 100}, span{14, 20}, span{60, 90}},
		"high-cri-led":         {span{2900, 3100}, span{-.003, .003}, span{96, 99}, span{60, 130}, span{230, 300}},
		"red-line-led":         {span{2900, 3100}, span{-.003, .003}, span{87, 93}, span{80, 140}, span{320, 360}},
		"triphosphor-tube":     {span{3900, 4100}, span{-.003, .003}, span{79, 86}, span{60, 100}, span{320, 365}},
		"phosphor-led":         {span{6300, 7000}, span{-.004, .005}, span{68, 76}, span{60, 120}, span{290, 340}},
		"mercury":              {span{5600, 6600}, span{.015, .035}, span{12, 20}, span{35, 55}, span{250, 320}},
		"high-pressure-sodium": {span{1900, 2100}, span{-.002, .005}, span{17, 26}, span{60, 110}, span{280, 380}},
		"low-pressure-sodium":  {span{1700, 1800}, span{.003, .012}, span{-50, -40}, span{80, 180}, span{440, 500}},
	}
	within := func(what string, v float64, s span) {
		t.Helper()
		if !(v >= s.from && v <= s.to) {
			t.Errorf("%s: %.4g is outside %g to %g", what, v, s.from, s.to)
		}
	}
	evaluator := rendition.New()
	for _, l := range Lamps() {
		k, ok := kinds[l.Slug]
		if !ok {
			t.Errorf("%s: no such kind of lamp", l.Slug)
			continue
		}
		delete(kinds, l.Slug)
		p := projected(t, Truth(l), spectrum.Sampled)
		xyz := colorimetry.Tristimulus(standards.CIE1931(), p)
		u, v := xyz.UV()
		cct, duv, _ := colorimetry.CCT(u, v)
		var cri rendition.CRI
		evaluator.CRI(p, cct, &cri)
		within(l.Slug+" CCT", cct, k.cct)
		within(l.Slug+" Duv", duv, k.duv)
		within(l.Slug+" Ra", cri.Ra, k.ra)
		within(l.Slug+" lm/W at the mains", l.FluxLm/l.PowerMainsW, k.efficacy)
		within(l.Slug+" LER", km*xyz.Y/p.Total, k.ler)

		// The light carries the flux that was read, and not more power than
		// the lamp has: about a fifth to a half of it leaves as light.
		if math.Abs(km*xyz.Y/l.FluxLm-1) > 1e-3 {
			t.Errorf("%s: the model gives %g lm, the lamp %g lm", l.Slug, km*xyz.Y, l.FluxLm)
		}
		power := l.PowerLampW
		if power == 0 {
			power = l.PowerMainsW
		}
		within(l.Slug+" radiant efficiency over the file's range", p.Total/power, span{.14, .45})
		if l.PowerLampW >= l.PowerMainsW {
			t.Errorf("%s: %g W at the lamp from %g W at the mains", l.Slug, l.PowerLampW, l.PowerMainsW)
		}
		for i, w := range Truth(l).Values() {
			if !(w >= 0) {
				t.Errorf("%s: %g W/nm at %g nm", l.Slug, w, Truth(l).Axis()[i])
				break
			}
		}
	}
	for slug := range kinds {
		t.Errorf("the club has no %s", slug)
	}
}

func TestTheBoxesAreNotAllHonest(t *testing.T) {
	// Flux may fall short of what is declared by a tenth before an authority
	// objects (Regulation (EU) 2019/2015, Annex IX): one lamp's does.
	var short []string
	for _, l := range Lamps() {
		if l.FluxLm < 0.9*l.Declared.FluxLm {
			short = append(short, l.Slug)
		}
	}
	if !slices.Equal(short, []string{"phosphor-led"}) {
		t.Errorf("short of nine tenths of the declared flux: %v", short)
	}
	if got, want := Lamps()[0].Declared.String(), "1180 lm, 70 W, 2900 K, Ra 100"; got != want {
		t.Errorf("declared %q, want %q", got, want)
	}
}

func TestTheDLinesOfHighPressureSodiumAreReversed(t *testing.T) {
	i := slices.IndexFunc(Lamps(), func(l Lamp) bool { return l.Slug == "high-pressure-sodium" })
	s := Truth(Lamps()[i])
	at := func(nm float64) float64 {
		k, _ := slices.BinarySearch(s.Axis(), nm)
		return s.Values()[k]
	}
	for _, side := range []float64{586, 592} {
		if at(589.2) > 0.1*at(side) {
			t.Errorf("%.3g W/nm in the gap at 589.2 nm, %.3g at %g nm", at(589.2), at(side), side)
		}
	}
}

func TestAFileIsTheSameEachTime(t *testing.T) {
	for _, l := range Lamps() {
		if !bytes.Equal(file(t, l), file(t, l)) {
			t.Errorf("%s: written twice, and not the same", l.FileName)
		}
	}
}

func TestEveryFileHasAShapeOfItsOwn(t *testing.T) {
	type trait func(b []byte) bool
	has := func(s string) trait { return func(b []byte) bool { return bytes.Contains(b, []byte(s)) } }
	starts := func(s string) trait { return func(b []byte) bool { return bytes.HasPrefix(b, []byte(s)) } }
	traits := map[string][]trait{
		"halogen":              {starts("# "), has("\n350.21,"), has("(µW/cm²/nm)")},
		"high-cri-led":         {has("\nnm          mW/nm\n380  ")},
		"red-line-led":         {has("nm\t\xb5W/cm\xb2/nm\n"), has("e-00"), func(b []byte) bool { return !utf8.Valid(b) }},
		"triphosphor-tube":     {starts("\xef\xbb\xbf"), has("\r\n380,0;0,")},
		"phosphor-led":         {has("\n780.0 "), has("\n380.0 ")},
		"mercury":              {has("\n339,91\t"), has("Averages:\t50\n")},
		"high-pressure-sodium": {starts("\xff\xfeS\x00"), has("\t\x00")},
		"low-pressure-sodium":  {starts("<?xml"), has("<IESTM2714")},
	}
	shapes := map[shape]string{}
	names := map[string]bool{}
	for _, l := range Lamps() {
		b := file(t, l)
		for i, holds := range traits[l.Slug] {
			if !holds(b) {
				t.Errorf("%s: trait %d is missing from\n%.300q", l.FileName, i+1, b)
			}
		}
		if len(traits[l.Slug]) == 0 {
			t.Errorf("%s: no trait is known", l.FileName)
		}
		if other, taken := shapes[l.shape]; taken {
			t.Errorf("%s and %s have one shape", l.Slug, other)
		}
		shapes[l.shape] = l.Slug
		if names[l.FileName] || !strings.HasPrefix(l.FileName, l.Slug+".") {
			t.Errorf("file name %s", l.FileName)
		}
		names[l.FileName] = true
	}
}

func TestAnInstrumentKeepsEnergyAndCanResolveWhatItSamples(t *testing.T) {
	v := standards.V()
	for _, l := range Lamps() {
		axis, values := l.read()
		s, err := spectrum.New(l.Instrument.Quantity, axis, values)
		if err != nil {
			t.Errorf("%s: %v", l.Slug, err)
			continue
		}
		p, truth := projected(t, s, spectrum.Sampled), projected(t, Truth(l), spectrum.Sampled)
		if p.Pitch > l.Instrument.BandwidthNm/2 {
			t.Errorf("%s: %g nm between samples of a bandwidth of %g nm", l.Slug, p.Pitch, l.Instrument.BandwidthNm)
		}
		got, want := v.Of(p)/p.Total, v.Of(truth)/truth.Total
		if math.Abs(got/want-1) > 0.005 {
			t.Errorf("%s: LER %.2f lm/W, the model's is %.2f lm/W", l.Slug, km*got, km*want)
		}
		switch l.Instrument.Quantity {
		case spectrum.Flux:
			near(t, l.Slug+" flux", km*v.Of(p), l.FluxLm)
		case spectrum.Irradiance:
			sphere := 4 * math.Pi * l.Instrument.DistanceM * l.Instrument.DistanceM
			near(t, l.Slug+" illuminance over the sphere", km*v.Of(p)*sphere, l.FluxLm)
		}
	}
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got/want-1) > 0.005 {
		t.Errorf("%s: %g, want %g", what, got, want)
	}
}

func TestEveryFileReadsBackAsWhatWasWritten(t *testing.T) {
	v := standards.V()
	for _, l := range Lamps() {
		f, err := ingest.Read(l.FileName, bytes.NewReader(file(t, l)), ingest.Options{})
		if err != nil {
			t.Errorf("%s: %v", l.FileName, err)
			continue
		}
		axis, values := l.read()
		if !slices.Equal(f.Spectrum.Axis(), axis) {
			from, to := f.Spectrum.Range()
			t.Errorf("%s: %d samples over %g–%g nm, want %d over %g–%g nm", l.FileName, f.Spectrum.Len(), from, to, len(axis), axis[0], axis[len(axis)-1])
			continue
		}
		if f.Spectrum.Quantity() != l.Instrument.Quantity {
			t.Errorf("%s: read as %v, want %v", l.FileName, f.Spectrum.Quantity(), l.Instrument.Quantity)
		}
		peak := slices.Max(values)
		for i, got := range f.Spectrum.Values() {
			if math.Abs(got-values[i]) > 1e-5*peak+5e-5*math.Abs(values[i]) { // five digits
				t.Errorf("%s: %g at %g nm, want %g", l.FileName, got, axis[i], values[i])
				break
			}
		}
		p, truth := projected(t, f.Spectrum, f.Projection), projected(t, Truth(l), spectrum.Sampled)
		near(t, l.FileName+" LER", v.Of(p)/p.Total, v.Of(truth)/truth.Total)
	}
}

// The lamp starts on neon and ends on sodium; the file is the same each time.
func TestTheRunUpGoesFromNeonToSodium(t *testing.T) {
	var first, again bytes.Buffer
	for _, w := range []*bytes.Buffer{&first, &again} {
		if err := RunUp().Write(w); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(first.Bytes(), again.Bytes()) {
		t.Error("two files of one course differ")
	}
	s, err := ingest.ReadSeries(RunUp().FileName, &first, ingest.Options{})
	if err != nil {
		t.Fatal(err)
	}
	at := func(k int, nm float64) float64 { return s.Values[k][int(math.Round((nm-400)*2))] }
	last := len(s.Times) - 1
	if s.Times[last] != 900 || len(s.Values) != 46 {
		t.Errorf("%d spectra over %g s, want 46 over 900 s", len(s.Values), s.Times[last])
	}
	if early, late := at(3, 640)/at(3, 589), at(last, 640)/at(last, 589); early < 3 || late > 0.03 {
		t.Errorf("neon at 640 nm over sodium at 589 nm: %.3g at first, %.3g when warm", early, late)
	}
}

package figure

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"

	"lampassay/light/emission"
	"lampassay/light/spectrum"

	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"
)

// mercuryLines are lines of mercury at their wavelengths with invented areas,
// two of them seen as one.
func mercuryLines() []EmissionLine {
	list := []EmissionLine{{Wavelength: 365.39, Area: 167, Unresolved: true, Note: "two lines seen as one"}, {Wavelength: 404.66, Area: 72}, {Wavelength: 435.83, Area: 138},
		{Wavelength: 491.61, Area: 3.2}, {Wavelength: 546.08, Area: 177}, {Wavelength: 577.96, Area: 135, Unresolved: true},
		{Wavelength: 671.63, Area: 1.8}, {Wavelength: 690.75, Area: 4.5}, {Wavelength: 708.19, Area: 2.2}}
	for i := range list {
		l := &list[i]
		l.U, l.Width, l.SNR, l.Symbol, l.Emitter = 0.02, 1.6, 20*l.Area, "Hg", "Hg I"
	}
	list[3].Symbol, list[3].Emitter = "", ""
	return list
}

// forestLines are invented: many lines, most of them unexplained.
func forestLines() []EmissionLine {
	var list []EmissionLine
	for i := range 70 {
		l := EmissionLine{Wavelength: 385 + 5.3*float64(i) + 2*math.Sin(float64(7*i)), U: 0.1, Width: 1.5, SNR: 30,
			Area: 2 + 90*math.Pow(math.Sin(float64(i*i)), 8)}
		if i%4 == 0 {
			k := i / 4 % 9
			l.Symbol = []string{"Na", "Tl", "In", "Sc", "Hg", "Li", "Cs", "Ca", "Ar"}[k]
			l.Emitter = l.Symbol + " I"
		}
		list = append(list, l)
	}
	return list
}

// drawn returns the curve of lines over a pale band, with a little noise.
func drawn(lines []EmissionLine, from, to float64) (nm, values, noise []float64) {
	for i, x := 0, from; x <= to; i, x = i+1, x+0.4 {
		v := 0.05 * math.Sin(float64(i*i))
		d := (x - 540) / 60
		v += 0.6 * math.Exp(-d*d)
		for _, l := range lines {
			z := (x - l.Wavelength) / l.Width
			v += 0.94 * l.Area / l.Width * math.Exp(-4*math.Ln2*z*z)
		}
		nm, values, noise = append(nm, x), append(values, v), append(noise, 0.035)
	}
	return nm, values, noise
}

func emissionSample(lines []EmissionLine) Emission {
	e := Emission{Lines: lines, From: 340, To: 800, Unit: "W/nm", AreaUnit: "W", Bands: []EmissionBand{
		{Name: "divalent europium, blue", Centre: 450, Width: 50, Area: 20, Note: "band"},
		{Name: "indium-gallium-nitride, blue: the pump of a white LED, or a blue one", Centre: 455, Width: 20, Area: 20},
		{Name: "unresolved lines", Centre: 490, Width: 12, Area: 2},
		{Name: "unresolved lines", Centre: 548, Width: 6, Area: 3},
		{Name: "red nitride (divalent europium) or another red phosphor", Centre: 640, Width: 100, Area: 30},
	}}
	e.Wavelengths, e.Values, e.Noise = drawn(lines, 345, 790)
	return e
}

// emissionPictures are the pictures of what makes a light, and the awkward ones.
func emissionPictures(t testing.TB) map[string]*Picture {
	made := must(t)
	a := illuminant(t, "A")
	dark := Emission{Wavelengths: []float64{390, 500, 700}, Values: []float64{0, 0, 0}, Noise: []float64{1, 1, 1}}
	var seconds, neon, sodium, u []float64
	for s := 0.0; s <= 900; s += 30 {
		x := min(s, 600) / 600
		seconds, neon, sodium, u = append(seconds, s), append(neon, 0.3*(1-x)), append(sodium, 10*x*x), append(u, 0.02)
	}
	course := EmissionTimeline{Seconds: seconds, Tracks: []EmissionTrack{{"Ne I", neon, u}, {"Na I", sodium, u}, {"Ar I", make([]float64, len(seconds)), nil}},
		Events: []EmissionEvent{{30, "first light: lines of Ne"}, {40, "lines of Na overtake those of Ne"},
			{590, "from here on the power in lines of Na stays within 5 % of its final value"}}}
	run := runUp(t)
	one := []EmissionLine{{Wavelength: 589.3, U: 0.01, Area: 3e-7, Width: 1, SNR: 900, Symbol: "Na", Emitter: "Na I", Unresolved: true}}
	return map[string]*Picture{
		"emission":          made(emissionSample(mercuryLines()).Picture()),
		"emission-forest":   made(emissionSample(forestLines()).Picture()),
		"emission-hot":      made(Emission{Wavelengths: a.nm, Values: a.values, Bands: []EmissionBand{{Name: "tungsten filament", Centre: 830, Width: math.NaN(), Area: 1}}, To: 830, From: 300}.Picture()),
		"emission-dark":     made(dark.Picture()),
		"stems":             made(Stems{Lines: mercuryLines(), AreaUnit: "W", From: 340, To: 800}.Picture()),
		"stems-forest":      made(Stems{Lines: forestLines()}.Picture()),
		"stems-one":         made(Stems{Lines: one}.Picture()),
		"emission-timeline": made(course.Picture()),
		"emission-run-up":   made(run.Picture()),
		"emission-moments":  made(EmissionTimeline{Seconds: []float64{0, 2.5}, Tracks: []EmissionTrack{{"Hg I", []float64{0, 1}, nil}}, Unit: "W"}.Picture()),
	}
}

// runUp is an invented sodium lamp that starts on neon, followed through its
// spectra.
func runUp(t testing.TB) EmissionTimeline {
	t.Helper()
	line := func(nm, area float64) EmissionLine { return EmissionLine{Wavelength: nm, Area: area, Width: 1.6} }
	var moments []emission.Moment
	for s := 0.0; s <= 900; s += 30 {
		x := min(s, 600) / 600
		lines := []EmissionLine{line(589.3, 300*x*x)}
		for _, nm := range []float64{585.249, 614.306, 633.443, 640.225, 650.653, 692.947, 703.241, 724.517, 743.89} {
			lines = append(lines, line(nm, 10*(1-x)))
		}
		nm, values, _ := drawn(lines, 400, 800)
		sp, err := spectrum.New(spectrum.Relative, nm, values)
		if err != nil {
			t.Fatal(err)
		}
		moments = append(moments, emission.Moment{Seconds: s, Spectrum: sp})
	}
	tl, err := emission.Follow(moments, emission.Options{})
	if err != nil {
		t.Fatal(err)
	}
	e := EmissionTimeline{Seconds: tl.Seconds}
	for _, track := range tl.Tracks {
		e.Tracks = append(e.Tracks, EmissionTrack{track.Spectrum, track.Power, track.PowerU})
	}
	for _, v := range tl.Events {
		e.Events = append(e.Events, EmissionEvent{v.Seconds, v.Text})
	}
	return e
}

// Whatever is asked for, no label lies over another and no leader runs through
// a label.
func TestCalloutsKeepClearOfEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var list []callout
		for range rapid.IntRange(1, 40).Draw(t, "labels") {
			list = append(list, callout{
				x:      vg.Length(rapid.Float64Range(-20, 420).Draw(t, "x")),
				text:   strings.Repeat("8", rapid.IntRange(1, 20).Draw(t, "length")),
				weight: float64(rapid.IntRange(0, 3).Draw(t, "weight")),
			})
		}
		rows := rapid.IntRange(0, 4).Draw(t, "rows")
		set, used := hoist(list, 0, 400, rows)
		for i, a := range set {
			if a.row < 0 {
				continue
			}
			w := small.width(list[i].text)
			if a.row >= used || used > rows || a.x0 < 0 || a.x0+w > 400.001 || list[i].x < a.x0-1e-6 || list[i].x > a.x0+w+1e-6 {
				t.Fatalf("label %d stands in row %d of %d from %v, its place is %v", i, a.row, used, a.x0, list[i].x)
			}
			for k, b := range set {
				if k == i || b.row < 0 {
					continue
				}
				if a.row == b.row && a.x0 < b.x0+small.width(list[k].text) && b.x0 < a.x0+w {
					t.Fatalf("labels %d and %d lie over each other", i, k)
				}
				if b.row > a.row && list[k].x > a.x0 && list[k].x < a.x0+w {
					t.Fatalf("the leader of label %d runs through label %d", k, i)
				}
			}
		}
	})
}

func TestTheHeavierOfTwoLabelsIsSet(t *testing.T) {
	list := []callout{{x: 50, text: "light", weight: 1}, {x: 52, text: "heavy", weight: 2}}
	set, _ := hoist(list, 0, 60, 1)
	if set[0].row != -1 || set[1].row != 0 {
		t.Errorf("rows %d and %d, want the heavy one alone", set[0].row, set[1].row)
	}
}

// Every line is told of: by a label, or by a tick, and in any case by its row.
func TestEveryLineAndBandIsInTheTableAndTheStrongestInTheWords(t *testing.T) {
	for _, lines := range [][]EmissionLine{mercuryLines(), forestLines()} {
		e := emissionSample(lines)
		p, err := e.Picture()
		if err != nil {
			t.Fatal(err)
		}
		if want := len(e.Lines) + len(e.Bands); len(p.Rows) != want {
			t.Errorf("%d rows for %d lines and bands", len(p.Rows), want)
		}
		for _, l := range byArea(e.Lines)[:9] {
			if !strings.Contains(p.Alt, l.label()) {
				t.Errorf("%q is not in %q", l.label(), p.Alt)
			}
		}
		for _, b := range e.Bands {
			if !strings.Contains(p.Alt, b.Name) {
				t.Errorf("%q is not in %q", b.Name, p.Alt)
			}
		}
	}
}

func TestNamesOfAllButFaintLinesFindRoomOnATelephone(t *testing.T) {
	texts, _ := record(must(t)(emissionSample(mercuryLines()).Picture()).At(Narrow), Page)
	for _, l := range mercuryLines() {
		if !slices.ContainsFunc(texts, func(x lettered) bool { return x.text == l.label() }) {
			t.Errorf("%s has no label", l.label())
		}
	}
}

func TestALineIsWrittenAsWellAsItIsKnown(t *testing.T) {
	for _, c := range []struct {
		nm, u       float64
		name, cell  string
		uncertainty string
	}{
		{589.237, 0.01, "Na 589.2", "589.24", "0.01"}, {589.237, 0.003, "Na 589.2", "589.24", "<0.01"},
		{568.67, 10.94, "Na 569", "569", "11"}, {404.61, 0.65, "Na 404.6", "404.61", "0.65"}, {613.4, 1.2, "Na 613.4", "613.4", "1.2"},
		{613.4, math.NaN(), "Na 613.4", "613.40", "not known"}, {613.4, math.Inf(1), "Na 613.4", "613.40", "not known"},
	} {
		l := EmissionLine{Wavelength: c.nm, U: c.u, Width: 1, Symbol: "Na"}
		if cells := l.cells(); l.name() != c.name || cells[0] != c.cell || cells[1] != c.uncertainty {
			t.Errorf("%g ± %g: %q, %q ± %q", c.nm, c.u, l.name(), cells[0], cells[1])
		}
	}
}

// Law: the shares of the stems add up to the whole.
func TestTheSharesOfTheStemsAddUp(t *testing.T) {
	p := must(t)(Stems{Lines: forestLines()}.Picture())
	sum := 0.0
	for _, row := range p.Rows {
		var share float64
		if _, err := fmt.Sscan(strings.TrimLeft(row[3], "<>"), &share); err != nil {
			t.Fatal(err)
		}
		sum += share
	}
	if math.Abs(sum-100) > 0.05*float64(len(p.Rows)) { // each is rounded to a tenth
		t.Errorf("the shares add up to %g %%", sum)
	}
	if k := slices.IndexFunc(p.Columns, func(c string) bool { return strings.HasPrefix(c, "share") }); k != 3 {
		t.Errorf("the shares are in column %d", k)
	}
}

func TestEachEmitterHasAFormOfItsOwn(t *testing.T) {
	series := Stems{Lines: forestLines()}.series()
	if !slices.IsSortedFunc(series, func(a, b stemSeries) int { return cmp.Compare(b.area, a.area) }) {
		t.Error("the emitters are not in order of energy")
	}
	if len(series) != 10 {
		t.Fatalf("%d emitters, want nine and what is not explained", len(series))
	}
	for i := range len(markers) - 9 {
		series = append(series, stemSeries{symbol: "X", emitter: fmt.Sprint("X", i)})
	}
	colour := regexp.MustCompile(`var\([^)]*\)`)
	seen := map[string]string{}
	for emitter, mark := range stemMarks(series) {
		c := newSVGCanvas(100, Page)
		mark(&pen{c}, vg.Point{X: 50, Y: 50})
		form := colour.ReplaceAllString(c.body.String(), "")
		if other, taken := seen[form]; taken {
			t.Errorf("%s and %s are told apart by colour alone", emitter, other)
		}
		seen[form] = emitter
	}
	if len(seen) != len(markers)+1 {
		t.Errorf("%d forms for %d emitters", len(seen), len(series))
	}
}

func TestAnEventStandsInTheRowOfItsMoment(t *testing.T) {
	p := emissionPictures(t)["emission-timeline"]
	for _, row := range p.Rows {
		want := map[string]string{"30.00": "first light", "60.00": "overtake", "600.0": "final value"}[row[0]]
		if got := row[len(row)-1]; want == "" && got != "" || !strings.Contains(got, want) {
			t.Errorf("at %s s: %q", row[0], got)
		}
	}
}

func TestARunUpIsDrawnAsItWasFollowed(t *testing.T) {
	e := runUp(t)
	p := must(t)(e.Picture())
	if len(e.Tracks) < 2 || len(e.Events) < 3 {
		t.Fatalf("%d emitters and %d events: the series has no run-up to show", len(e.Tracks), len(e.Events))
	}
	texts, _ := record(p.At(Narrow), Page)
	for _, track := range e.Tracks {
		if !slices.ContainsFunc(texts, func(x lettered) bool { return x.text == track.Emitter }) {
			t.Errorf("%s has no panel", track.Emitter)
		}
	}
	for _, v := range e.Events {
		if !strings.Contains(p.Alt, v.Text) {
			t.Errorf("%q is not in the words", v.Text)
		}
	}
}

func TestWhatMakesNoEmissionPictureIsRefused(t *testing.T) {
	nan := math.NaN()
	two := []float64{400, 500}
	line := EmissionLine{Wavelength: 450, Area: 1, Width: 1}
	bad := line
	bad.Area = nan
	for name, make := range map[string]func() (*Picture, error){
		"no curve":          Emission{}.Picture,
		"nothing in range":  Emission{Wavelengths: two, Values: two, From: 600, To: 700}.Picture,
		"noise of another":  Emission{Wavelengths: two, Values: two, Noise: []float64{1}}.Picture,
		"line without area": Emission{Wavelengths: two, Values: two, Lines: []EmissionLine{bad}}.Picture,
		"band without area": Emission{Wavelengths: two, Values: two, Bands: []EmissionBand{{Area: nan}}}.Picture,
		"no stem":           Stems{}.Picture,
		"stem without area": Stems{Lines: []EmissionLine{bad}}.Picture,
		"stems upside down": Stems{Lines: []EmissionLine{line}, From: 700, To: 300}.Picture,
		"only negative":     Stems{Lines: []EmissionLine{{Wavelength: 450, Area: -1, Width: 1}}}.Picture,
		"no moment":         EmissionTimeline{}.Picture,
		"one moment":        EmissionTimeline{Seconds: []float64{0}, Tracks: []EmissionTrack{{Power: []float64{1}}}}.Picture,
		"time runs back":    EmissionTimeline{Seconds: []float64{1, 0}, Tracks: []EmissionTrack{{Power: two}}}.Picture,
		"missing power":     EmissionTimeline{Seconds: two, Tracks: []EmissionTrack{{Power: []float64{1}}}}.Picture,
		"event without end": EmissionTimeline{Seconds: two, Tracks: []EmissionTrack{{Power: two}}, Events: []EmissionEvent{{Seconds: nan}}}.Picture,
	} {
		if p, err := make(); err == nil {
			t.Errorf("%s: drawn as %q", name, p.Name)
		} else if !strings.HasPrefix(err.Error(), "figure: ") {
			t.Errorf("%s: %q does not say where it comes from", name, err)
		}
	}
}

package sheet

import (
	"html"
	"math"
	"slices"
	"strings"
	"testing"

	"lampassay/light/emission"
	"lampassay/light/spectrum"
)

func TestWhatMakesTheLightStandsAfterTheLightWhereItWasAnalysed(t *testing.T) {
	l := lampOf(t, specimens[1])
	page := sheetOf(t, l, Options{})
	var at []int
	for _, id := range []string{`id="light"`, `id="emission"`, `id="colours"`, `id="numbers"`} {
		at = append(at, strings.Index(page, id))
	}
	if !slices.IsSorted(at) || at[0] < 0 {
		t.Errorf("the sections begin at %v", at)
	}
	l.Emission = nil
	without := sheetOf(t, l, Options{})
	if strings.Contains(without, "What makes this light") {
		t.Error("a light that was not analysed has the section")
	}
	// Nothing else changes: the page without is the page with, less the section.
	head, rest, _ := strings.Cut(page, `<section class="part" aria-labelledby="emission">`)
	_, tail, _ := strings.Cut(rest, "</section>")
	if squeeze(head+tail) != squeeze(without) {
		t.Error("the rest of the page is another")
	}
}

func squeeze(s string) string { return strings.Join(strings.Fields(s), " ") }

// Whatever the analysis found is on the page.
func TestEveryFindingOfTheAnalysisIsOnThePage(t *testing.T) {
	lines, bands, elements, warnings := 0, 0, 0, 0
	for _, l := range append(lampsOf(t), clubLamps(t)...) {
		page := html.UnescapeString(sheetOf(t, l, Options{}))
		r := l.Emission
		var want []string
		want = append(want, allSaid(r.Family.Reasons)...)
		want = append(want, allSaid(r.Warnings)...)
		if r.Family.Key != emission.FamilyUnknown {
			want = append(want, capital(r.Family.Name))
		}
		for _, a := range r.Family.Alternatives {
			want = append(want, a.Name)
		}
		for _, e := range r.Elements {
			want = append(append(want, e.Spectrum, e.Role), allSaid(e.Reasons)...)
		}
		for _, b := range r.Bands {
			want = append(want, capital(b.Name))
			for _, reason := range b.Reasons {
				want = append(want, strings.TrimSuffix(said(reason), "."))
			}
		}
		for _, line := range r.Unexplained() {
			want = append(want, nm(line.Centre))
		}
		for _, text := range want {
			if !strings.Contains(page, text) {
				t.Errorf("%s: the page does not say %q", l.name(), text)
			}
		}
		v, err := newEmission(&l)
		if err != nil {
			t.Fatal(err)
		}
		if len(v.Lines.Rows) != len(r.Lines) {
			t.Errorf("%s: %d lines in the table, %d found", l.name(), len(v.Lines.Rows), len(r.Lines))
		}
		lines, bands, elements, warnings = lines+len(r.Lines), bands+len(r.Bands), elements+len(r.Elements), warnings+len(r.Warnings)
	}
	if lines == 0 || bands == 0 || elements == 0 || warnings == 0 {
		t.Errorf("%d lines, %d bands, %d elements, %d warnings: the lamps show too little", lines, bands, elements, warnings)
	}
}

func TestAScoreIsSaidInAWord(t *testing.T) {
	for _, c := range []struct {
		score        float64
		word, number string
	}{{0.99, "certain", "0.99"}, {0.95, "certain", "0.95"}, {0.9499, "likely", "0.94"}, {0.9, "likely", "0.90"},
		{0.75, "likely", "0.75"}, {0.7499, "possible", "0.74"}, {0.5, "possible", "0.50"}, {0, "possible", "0.00"}} {
		if word, number := scored(c.score); word != c.word || number != c.number {
			t.Errorf("%g is %s, %s, want %s, %s", c.score, word, number, c.word, c.number)
		}
	}
}

func TestPicturesReachAsFarAsWhatWasFound(t *testing.T) {
	for _, l := range append(lampsOf(t), clubLamps(t)...) {
		from, to := rangeOfInterest(&l)
		if from < l.Result.From || to > l.Result.To || to <= from {
			t.Errorf("%s: %g to %g nm, the spectrum covers %g to %g", l.name(), from, to, l.Result.From, l.Result.To)
		}
		for _, line := range l.Emission.Lines {
			if line.Centre < from || line.Centre > to {
				t.Errorf("%s: the line at %g nm is outside %g to %g nm", l.name(), line.Centre, from, to)
			}
		}
	}
}

// Every emitter that an analysis names here has a name that is not its symbol.
func TestEmittersAreNamedInWords(t *testing.T) {
	for _, l := range append(lampsOf(t), clubLamps(t)...) {
		for _, e := range l.Emission.Elements {
			if elementNames[e.Symbol] == "" {
				t.Errorf("%s: %s has no name", l.name(), e.Symbol)
			}
		}
	}
}

func TestATableShowsNoNoiseAndSaysSo(t *testing.T) {
	l := lampOf(t, specimens[1])
	p, err := annotated(&l)
	if err != nil {
		t.Fatal(err)
	}
	if l.Result.Kind != spectrum.Tabulated || !strings.Contains(p.Note, "no noise of its own") {
		t.Errorf("%v: %q", l.Result.Kind, p.Note)
	}
	if page := sheetOf(t, l, Options{}); !strings.Contains(page, "nm apart") {
		t.Error("the page does not warn of samples that are far apart")
	}
}

func TestTitlesCountTheLinesThatAreExplained(t *testing.T) {
	known, unknown := emission.Line{Emitter: "Hg I"}, emission.Line{}
	mercury := emission.Element{Symbol: "Hg", Spectrum: "Hg I"}
	oxide, vanadate := emission.Element{Symbol: "Eu³⁺", Spectrum: "Eu³⁺ (oxide)"}, emission.Element{Symbol: "Eu³⁺", Spectrum: "Eu³⁺ (vanadate)"}
	for _, c := range []struct {
		r    emission.Result
		want string
	}{
		{emission.Result{}, "Nothing stands out of this spectrum"},
		{emission.Result{Bands: make([]emission.Band, 1)}, "One band, and no line"},
		{emission.Result{Bands: make([]emission.Band, 3)}, "3 bands, and no line"},
		{emission.Result{Bands: []emission.Band{{Kind: emission.KindHotBody}}}, "A continuum without lines"},
		{emission.Result{Lines: []emission.Line{unknown}}, "1 line that nothing here explains"},
		{emission.Result{Lines: []emission.Line{known, unknown}, Elements: []emission.Element{mercury}}, "Mercury explains 1 of 2 lines"},
		{emission.Result{Lines: []emission.Line{known}, Elements: []emission.Element{mercury, oxide, vanadate}}, "Mercury and trivalent europium explain 1 of 1 line"},
	} {
		if got := annotatedTitle(&c.r); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}

func TestALightWithoutLinesHasNoStemsAndSaysWhy(t *testing.T) {
	l := lampOf(t, specimens[4])
	if len(l.Emission.Lines) > 0 {
		t.Fatal("the filament has lines, and this test no subject")
	}
	v, err := newEmission(&l)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(v.Pictures); n != 2 || v.Pictures[1].Absent == "" {
		t.Errorf("%d pictures, the last %+v", n, v.Pictures[n-1])
	}
}

// An analysis without any figure to hold on to still has its page.
func TestAnEmptyAnalysisHasItsSection(t *testing.T) {
	l := lampOf(t, specimens[0])
	n := l.Spectrum.Len()
	l.Emission = &emission.Result{Noise: make([]float64, n), Continuum: make([]float64, n), Shift: math.NaN(), ShiftU: math.NaN(),
		Family: emission.Family{Key: emission.FamilyUnknown, Name: "unknown", Score: 1, Reasons: []string{"nothing rises clearly above the noise"}}}
	page := sheetOf(t, l, Options{})
	for _, want := range []string{"No kind of lamp is named", "Nothing rises clearly above the noise.", "No line stands out of this spectrum."} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}

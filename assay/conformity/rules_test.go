package conformity

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestEveryCarriedFileIsSound(t *testing.T) {
	entries, err := files.ReadDir("rules")
	if err != nil || len(entries) == 0 {
		t.Fatalf("no files of rules: %v", err)
	}
	for _, e := range entries {
		f, err := files.Open("rules/" + e.Name())
		if err != nil {
			t.Fatal(err)
		}
		if _, err := new(Rules).Add(f); err != nil {
			t.Errorf("%s: %v", e.Name(), err)
		}
	}
	if got := len(Builtin().Regulations()); got != len(entries) {
		t.Errorf("%d regulations from %d files", got, len(entries))
	}
}

// head is the least that a file must say.
const head = `"schema":"lampassay-rules/1","name":"Invented Order","region":"XX","subject":"lamps","basis":"invented","from":"2020-01-01"`

func TestAFileThatIsNotSoundIsRefusedInASentence(t *testing.T) {
	for name, c := range map[string]struct{ file, want string }{
		"not JSON":                  {`class A`, "not a file of rules"},
		"a key nobody knows":        {`{` + head + `,"colour":1}`, `there is no key "colour"`},
		"another schema":            {`{"schema":"x/9"}`, `reads "lampassay-rules/1"`},
		"no basis":                  {strings.Replace(`{`+head+`}`, "invented\"", " \"", 1), `needs "basis"`},
		"a day that is none":        {strings.Replace(`{`+head+`}`, "2020-01-01", "2020-13-01", 1), `"2020-13-01" is no day`},
		"an end before its start":   {`{` + head + `,"until":"2019-01-01"}`, "before it begins"},
		"more behind":               {`{` + head + `}{}`, "something follows the end"},
		"a figure nobody knows":     {`{` + head + `,"limits":[{"figure":"charm","clause":"1","min":1}]}`, `no figure "charm"`},
		"a limit without a bound":   {`{` + head + `,"limits":[{"figure":"ra","clause":"1"}]}`, "neither min nor max"},
		"a limit without a clause":  {`{` + head + `,"limits":[{"figure":"ra","min":80}]}`, "has no clause"},
		"a technology nobody knows": {`{` + head + `,"limits":[{"figure":"ra","clause":"1","min":80,"technologies":["candle"]}]}`, `no technology "candle"`},
		"classes out of order": {`{` + head + `,"efficacy_classes":{"clause":"1","factors":{"ndls_mls":1,"ndls_nmls":1,"dls_mls":1,"dls_nmls":1},"classes":[{"class":"A","from":80},{"class":"B","from":90},{"class":"C","from":0}]}}`,
			"does not begin below"},
		"a factor that is missing":  {`{` + head + `,"efficacy_classes":{"clause":"1","factors":{"ndls_mls":1},"classes":[{"class":"A","from":80},{"class":"B","from":0}]}}`, "each of ndls_mls"},
		"an equivalence that falls": {`{` + head + `,"equivalence":{"clause":"1","points":[[10,5],[9,6]]}}`, "do not rise"},
		"a formula nobody knows":    {`{` + head + `,"gear":{"clause":"1","rows":[{"group":"led","formula":"magic"}]}}`, "name of a formula"},
	} {
		_, err := new(Rules).Add(strings.NewReader(c.file))
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.HasPrefix(err.Error(), "conformity: ") {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

func TestAnotherCountrysRulesNeedNoProgram(t *testing.T) {
	rules, err := Builtin().Add(strings.NewReader(`{` + head + `,"limits":[{"figure":"ra","clause":"rule 7","min":95}]}`))
	if err != nil {
		t.Fatal(err)
	}
	got := find(t, rules.Judge(led(), ""), "functional limits", "Invented Order rule 7")
	if got.Verdict != Unmet || !strings.Contains(got.Text, "outside: Ra 80 (95 or more)") {
		t.Errorf("%+v", got)
	}
	again, err := rules.Add(strings.NewReader(`{` + head + `,"until":"2020-12-31"}`))
	if err != nil || len(again.regulations) != len(rules.regulations) {
		t.Errorf("the same name again: %d regulations, %v; want it replaced", len(again.regulations), err)
	}
}

// led is an invented lamp of 806 lm.
func led() *Lamp {
	return &Lamp{Source: LightSource{Mains: true}, Technology: "led", X: 0.44, Y: 0.4, Flux: 806, Power: 8.5, CCT: 2950,
		Measured: map[Figure]float64{"ra": 80}}
}

func find(t *testing.T, findings []Finding, topic, source string) Finding {
	t.Helper()
	i := slices.IndexFunc(findings, func(f Finding) bool { return f.Topic == topic && strings.Contains(f.Source, source) })
	if i < 0 {
		t.Fatalf("no finding %q of %q in %+v", topic, source, findings)
	}
	return findings[i]
}

func TestTheDayChoosesTheRules(t *testing.T) {
	names := func(on Date) (n []string) {
		for i := range Builtin().regulations {
			if g := &Builtin().regulations[i]; g.covers(on) {
				n = append(n, g.Name)
			}
		}
		return n
	}
	both := []string{"Regulation (EU) 2019/2015", "Regulation (EU) 2019/2020"}
	for on, want := range map[Date][]string{
		"":           both,
		"2021-09-01": both,
		"2021-08-31": {"Regulation (EU) No 874/2012"},
		"2013-09-01": {"Regulation (EU) No 874/2012"},
		"2013-08-31": nil,
	} {
		if got := names(on); !slices.Equal(got, want) {
			t.Errorf("on %q: %v, want %v", on, got, want)
		}
		if err := Builtin().Covers(on); (err == nil) != (want != nil) {
			t.Errorf("Covers(%q): %v", on, err)
		}
	}
	err := Builtin().Covers("1998-01-01")
	if err == nil || !strings.Contains(err.Error(), "the earliest is Regulation (EU) No 874/2012, from 2013-09-01") {
		t.Errorf("a day before all rules: %v", err)
	}
	for _, s := range []string{"yesterday", "2021-9-1", "2021-02-30", ""} {
		if _, err := ParseDate(s); err == nil {
			t.Errorf("ParseDate(%q) took it", s)
		}
	}
}

// Values: Regulation (EU) 2019/2020 Annex II Tables 1 and 2, worked by hand.
func TestPowerLimitOfTheRegulationsArithmetic(t *testing.T) {
	p := regulation(t, "Regulation (EU) 2019/2020").PowerLimit
	for _, c := range []struct {
		technology string
		source     LightSource
		flux, ra   float64
		features   []string
		want       float64
	}{
		{"led", LightSource{Mains: true}, 806, 80, nil, 8.874},
		{"led", LightSource{}, 806, 80, nil, 8.217},
		{"led", LightSource{Mains: true, Directional: true}, 345, 80, nil, 6.005},
		{"led", LightSource{Directional: true}, 345, 80, nil, 5.615},
		{"led", LightSource{Mains: true}, 806, 90, []string{"connected"}, 9.979},
		{"led", LightSource{Mains: true}, 806, 90, []string{"connected", "colour-tuneable"}, 10.903},
		{"hps", LightSource{}, 10700, 20, nil, 111.534},
		{"fl-t5-he", LightSource{}, 2600, 80, nil, 28.216},
		{"cfl", LightSource{}, 1200, 80, nil, 19.394},
	} {
		l := &Lamp{Source: c.source, Technology: c.technology, Flux: c.flux, Power: 10, CCT: 3000, Features: c.features, Measured: map[Figure]float64{"ra": c.ra}}
		got, err := p.max(l, "")
		if err != nil || math.Abs(got-c.want) > 1e-3 {
			t.Errorf("%s %v %g lm Ra %g %v: %.4f, %v; want %.3f", c.technology, c.source, c.flux, c.ra, c.features, got, err, c.want)
		}
	}
}

// A tube of 90.4 and 5040 K is declared as 90 and 5000 K, which earns no bonus; one
// of 90.6 as 91, and one of 5060 K as 5100 K.
func TestABonusGoesByWhatIsDeclared(t *testing.T) {
	p := regulation(t, "Regulation (EU) 2019/2020").PowerLimit
	tube := func(ra, cct float64) float64 {
		most, err := p.max(&Lamp{Technology: "fl-t5-he", Flux: 2600, Power: 28, CCT: cct, Measured: map[Figure]float64{"ra": ra}}, "")
		if err != nil {
			t.Fatal(err)
		}
		return most / p.Rendering.of(ra)
	}
	plain := 1.9 + 2600/98.8
	for _, c := range []struct{ ra, cct, factor float64 }{{90.4, 5040, 1}, {90.6, 5040, 1.1}, {90.4, 5060, 1.1}, {90.6, 5060, 1.2}} {
		if got := tube(c.ra, c.cct); math.Abs(got-c.factor*plain) > 1e-9 {
			t.Errorf("Ra %g, %g K: %.4f W before R, want %.4f", c.ra, c.cct, got, c.factor*plain)
		}
	}
}

func TestPowerLimitOfT8TubesFellInSeptember2023(t *testing.T) {
	p := regulation(t, "Regulation (EU) 2019/2020").PowerLimit
	l := &Lamp{Technology: "fl-t8", Flux: 3350, Power: 36, Measured: map[Figure]float64{"ra": 80}}
	before, err1 := p.max(l, "2023-08-31")
	after, err2 := p.max(l, "2023-09-01")
	// 4.5 + 3350/89.7 and 1.5 + 3350/120
	if err1 != nil || err2 != nil || math.Abs(before-41.8467) > 1e-3 || math.Abs(after-29.4167) > 1e-3 {
		t.Errorf("%.4f, %v and %.4f, %v", before, err1, after, err2)
	}
}

// Values: Regulation (EU) 2019/2020 Annex II Table 3, worked by hand.
func TestLeastEfficiencyOfGear(t *testing.T) {
	g := regulation(t, "Regulation (EU) 2019/2020").Gear
	for _, c := range []struct {
		group string
		power float64
		want  float64
	}{
		{"fl", 36, 0.8780}, {"led", 10, 0.7066}, {"led", 50, 0.8487}, {"fl", 5, 0.71}, {"fl", 101, 0.91},
		{"hid", 30, 0.78}, {"hid", 31, 0.85}, {"hid", 405, 0.90}, {"hid", 406, 0.92}, {"halogen", 50, 0.91},
	} {
		if got, ok := g.least(c.group, c.power); !ok || math.Abs(got-c.want) > 5e-5 {
			t.Errorf("%s %g W: %.5f, %v; want %.4f", c.group, c.power, got, ok, c.want)
		}
	}
}

// Values: Regulation (EU) No 874/2012, worked by hand.
func TestIndexClassesOfPeriodLabels(t *testing.T) {
	k := regulation(t, "Regulation (EU) No 874/2012").IndexClasses
	for flux, want := range map[float64]float64{470: 42.108, 806: 64.477, 1055: 80.278, 1299: 95.368, 1300: 95.433, 1521: 111.657} {
		if got := k.reference(flux); math.Abs(got-want) > 1e-3 {
			t.Errorf("reference power of %g lm: %.4f, want %.3f", flux, got, want)
		}
	}
	for _, c := range []struct {
		flux, power float64
		source      LightSource
		technology  string
		index       float64
		class       string
	}{
		{806, 9.5, LightSource{Mains: true}, "", 0.15, "A+"},
		{710, 60, LightSource{Mains: true}, "", 1.03, "E"},
		{470, 7, LightSource{Mains: true}, "", 0.17, "A+"},     // 0.166
		{470, 7.327, LightSource{Mains: true}, "", 0.17, "A+"}, // 0.1740 is rounded first
		{470, 7.4, LightSource{Mains: true}, "", 0.18, "A"},    // 0.1757
		{470, 7.4, LightSource{Mains: true, Directional: true}, "", 0.18, "A+"},
		{1200, 18, LightSource{}, "cfl", 0.22, "A"}, // 18·1.10/89.28
	} {
		got, err := k.class(&Lamp{Source: c.source, Technology: c.technology, Flux: c.flux, Power: c.power})
		if err != nil || got.Letter != c.class || math.Abs(got.Index-c.index) > 1e-9 {
			t.Errorf("%g lm, %g W, %v: %+v, %v; want %s at %.2f", c.flux, c.power, c.source, got, err, c.class, c.index)
		}
	}
	if _, err := k.class(&Lamp{Flux: 800, Power: 10}); err == nil {
		t.Error("a lamp on gear of an unknown kind got a class")
	}
}

func TestTheDistanceToTheNextIndexClassReachesIt(t *testing.T) {
	k := regulation(t, "Regulation (EU) No 874/2012").IndexClasses
	rapid.Check(t, func(t *rapid.T) {
		l := &Lamp{Source: LightSource{Mains: true, Directional: rapid.Bool().Draw(t, "dls")},
			Flux: rapid.Float64Range(61, 5000).Draw(t, "lm"), Power: rapid.Float64Range(1, 200).Draw(t, "W")}
		c, err := k.class(l)
		if err != nil {
			t.Fatal(err)
		}
		if c.Next == "" {
			return
		}
		l.Power *= 1 - c.LessPower
		if better, err := k.class(l); err != nil || better.Letter != c.Next {
			t.Fatalf("%s less %.4f of the power gives %+v, %v; want %s", c.Letter, c.LessPower, better, err, c.Next)
		}
	})
}

func TestTheEnergyOnTheLabelIsTheNextWholeKilowattHour(t *testing.T) {
	e := regulation(t, "Regulation (EU) 2019/2015").LabelEnergy
	for power, want := range map[float64]float64{8: 8, 8.04: 8, 8.05: 9, 8.5: 9, 9.04: 9, 0.3: 1} {
		if got := e.kWh(power); got != want {
			t.Errorf("%g W: %g kWh, want %g", power, got, want)
		}
	}
}

// Points: Regulation (EU) 2019/2015 Table 7; between them by hand.
func TestWhichIncandescentLampALightEquals(t *testing.T) {
	e := regulation(t, "Regulation (EU) 2019/2015").Equivalence
	for flux, want := range map[float64]float64{136: 15, 249: 25, 470: 40, 806: 60, 1055: 75, 1521: 100, 2452: 150, 3452: 200, 638: 50, 700: 54} {
		if got, ok := e.watts(flux); !ok || got != want {
			t.Errorf("%g lm: %g W, %v; want %g", flux, got, ok, want)
		}
	}
	for _, flux := range []float64{135.9, 3452.1} {
		if got, ok := e.watts(flux); ok {
			t.Errorf("%g lm: %g W, want none", flux, got)
		}
	}
}

func TestFlickerIsJudgedByTheLimitOfItsDay(t *testing.T) {
	l := led()
	l.Measured["svm"] = 0.6
	for on, want := range map[Date]Verdict{"2022-01-01": Met, "2024-08-31": Met, "2024-09-01": Unmet, "": Unmet} {
		if got := find(t, Builtin().Judge(l, on), "functional limits", "2019/2020"); got.Verdict != want {
			t.Errorf("SVM 0.6 on %q: %v, want %v: %s", on, got.Verdict, want, got.Text)
		}
	}
	l.Measured["svm"] = 0.44 // 0.4 as a declaration rounds it
	if got := find(t, Builtin().Judge(l, ""), "functional limits", "2019/2020"); got.Verdict != Met {
		t.Errorf("SVM 0.44: %+v", got)
	}
}

func TestTheDisplacementFactorAskedForGrowsWithPower(t *testing.T) {
	for _, c := range []struct {
		power, factor float64
		want          Verdict
		said          bool
	}{{5, 0.3, Met, false}, {5.1, 0.49, Unmet, true}, {10, 0.5, Met, true}, {10.1, 0.6, Unmet, true}, {25, 0.7, Met, true}, {25.1, 0.89, Unmet, true}, {40, 0.9, Met, true}} {
		l := led()
		l.Power, l.Measured["displacement_factor"] = c.power, c.factor
		got := find(t, Builtin().Judge(l, ""), "functional limits", "2019/2020")
		if got.Verdict != c.want || strings.Contains(got.Text, "displacement factor 0.") != c.said {
			t.Errorf("%g W at %g: %+v", c.power, c.factor, got)
		}
	}
}

func TestSodiumCountsByItsKindAndNotByItsColour(t *testing.T) {
	l := &Lamp{X: 0.533, Y: 0.415, Flux: 6600, Power: 70, Measured: map[Figure]float64{"ra": 8}}
	if got := find(t, Builtin().Judge(l, ""), "energy class", "2019/2015"); !strings.HasPrefix(got.Text, "no class: outside the regulation's definition") {
		t.Errorf("not told what it is: %+v", got)
	}
	l.Technology = "hps"
	if got := find(t, Builtin().Judge(l, ""), "energy class", "2019/2015"); !strings.HasPrefix(got.Text, "F: 87.3 lm/W") {
		t.Errorf("high-pressure sodium: %+v", got)
	}
}

func TestOneDefinitionIsNamedOnce(t *testing.T) {
	l := &Lamp{X: 0.569, Y: 0.43, Flux: 4500, Power: 46, Source: LightSource{Mains: true}}
	if got := Builtin().Judge(l, ""); len(got) != 1 {
		t.Errorf("%+v, want the reason there is no class and nothing else", got)
	}
}

func TestEveryFindingNamesClauseDatesAndThatItIsNoAdvice(t *testing.T) {
	l := led()
	l.MainsPower, l.LampPower = 8.5, 7
	for _, on := range []Date{"", "2015-06-01", "2022-01-01"} {
		all := Builtin().Judge(l, on)
		if len(all) == 0 {
			t.Fatalf("nothing on %q", on)
		}
		for _, f := range all {
			if !strings.HasPrefix(f.Source, "Regulation (EU) ") || !strings.Contains(f.Source, "20") || !strings.HasSuffix(f.Source, "not legal advice") {
				t.Errorf("on %q, %s: source %q", on, f.Topic, f.Source)
			}
		}
	}
}

func regulation(t *testing.T, name string) *Regulation {
	t.Helper()
	for i := range Builtin().regulations {
		if g := &Builtin().regulations[i]; g.Name == name {
			return g
		}
	}
	t.Fatalf("%s is not carried", name)
	return nil
}

// FuzzAdd reads anything and judges a lamp by whatever was taken for rules.
func FuzzAdd(f *testing.F) {
	entries, err := files.ReadDir("rules")
	if err != nil {
		f.Fatal(err)
	}
	for _, e := range entries {
		b, err := files.ReadFile("rules/" + e.Name())
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(b))
	}
	f.Add(`{` + head + `,"limits":[{"figure":"ra","clause":"1","min":80}]}`)
	f.Fuzz(func(t *testing.T, file string) {
		rules, err := new(Rules).Add(strings.NewReader(file))
		if err != nil {
			return
		}
		for _, l := range []*Lamp{led(), {Technology: "hps", X: 0.5, Y: 0.41, Flux: 6600, Power: 70, LampPower: 70, MainsPower: 80}} {
			for _, found := range rules.Judge(l, rules.regulations[0].From) {
				if strings.Contains(found.Text, "NaN") {
					t.Errorf("%s", found.Text)
				}
			}
		}
	})
}

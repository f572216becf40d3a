package claims

import (
	"context"
	"fmt"
	"io/fs"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"lampassay/assay/comparison"
	"lampassay/assay/uncertainty"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s is %g, want %g ± %g", what, got, want, tolerance)
	}
}

func claim(t *testing.T, key, value, unit string) Claim {
	t.Helper()
	c, err := NewClaim(key, value, unit)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// measured makes a value with an expanded uncertainty (k = 2).
func measured(t *testing.T, value, expanded float64) Measured {
	t.Helper()
	m, err := Of(nil, comparison.Figure{Lamp: "A", Value: value, Causes: []comparison.Cause{{Name: "all", U: expanded / 2}}})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestVerdictsFollowTheRule(t *testing.T) {
	label := Tables()[0]
	for _, c := range []struct {
		key, declared   string
		value, expanded float64
		want            string
	}{
		// Not less than 806 lm − 10 % = 725.4 lm.
		{"luminous_flux", "806", 800, 40, "consistent"},
		{"luminous_flux", "806", 765.4, 40, "consistent"}, // m − U on the limit
		{"luminous_flux", "806", 765, 40, "inconclusive: no conflict found"},
		{"luminous_flux", "806", 712, 40, "inconclusive: looks low, not proven"},
		{"luminous_flux", "806", 685, 40, "outside tolerance"},
		{"luminous_flux", "806", 2000, 40, "consistent"}, // more light breaks no rule
		// Not more than 9 W + 5 % = 9.45 W.
		{"power", "9", 9.3, 0.1, "consistent"},
		{"power", "9", 9.3, 0.3, "inconclusive: no conflict found"},
		{"power", "9", 9.6, 0.3, "inconclusive: looks high, not proven"},
		{"power", "9", 10, 0.3, "outside tolerance"},
		// Steps of P_on at 2 and 5 W.
		{"power", "2", 2.19, 0.01, "consistent"},
		{"power", "2", 2.25, 0.01, "outside tolerance"},
		{"power", "5", 5.45, 0.01, "consistent"},
		{"power", "5.1", 5.45, 0.01, "outside tolerance"},
		// Both sides of 3000 K: 2700 to 3300 K.
		{"cct", "3000", 2900, 60, "consistent"},
		{"cct", "3000", 2650, 20, "outside tolerance"},
		{"cct", "3000", 3400, 20, "outside tolerance"},
		{"cct", "3000", 2680, 60, "inconclusive: looks low, not proven"},
		{"cct", "3000", 3310, 60, "inconclusive: looks high, not proven"},
		{"cct", "3000", 3000, 700, "inconclusive: no conflict found"},
		{"ra", "80", 78.5, 0.4, "consistent"},
		{"ra", "80", 77, 0.4, "outside tolerance"},
		{"r9", "50", 49, 3, "inconclusive: no conflict found"},
		{"energy_class", "E", 115, 4, "consistent"},        // 110 − 5 % = 104.5 lm/W
		{"energy_class", "D", 115, 4, "outside tolerance"}, // 135 − 5 % = 128.25 lm/W
		{"energy_class", "G", 20, 1, "not judged"},
		{"sp_ratio", "1.4", 1.4, 0.1, "not judged"},
	} {
		j := Judge(claim(t, c.key, c.declared, ""), measured(t, c.value, c.expanded), label)
		if accepted := j.Measured.Value >= j.AcceptLow-1e-9 && j.Measured.Value <= j.AcceptHigh+1e-9; j.Verdict != NotJudged && accepted != (j.Verdict == Consistent) {
			t.Errorf("%s measured %g: %s, and acceptance from %g to %g", c.key, c.value, j.Verdict, j.AcceptLow, j.AcceptHigh)
		}
		if got := j.Words(); got != c.want {
			t.Errorf("%s declared %s, measured %g ± %g: %q, want %q", c.key, c.declared, c.value, c.expanded, got, c.want)
		}
	}
}

// With U of 12 % and a tolerance of 10 %, everything from 0.80 to 1.02 of the
// claim is inconclusive: (0.9/1.12, 0.9/0.88).
func TestAWideUncertaintyLeavesAWideMiddle(t *testing.T) {
	label := Tables()[0]
	c := claim(t, "luminous_flux", "1000", "lm")
	for permille := 700; permille <= 1100; permille++ {
		v := float64(permille)
		j := Judge(c, measured(t, v, 0.12*v), label)
		want := Inconclusive
		switch {
		case v < 1000*0.9/1.12:
			want = Outside
		case v >= 1000*0.9/0.88:
			want = Consistent
		}
		if j.Verdict != want {
			t.Errorf("%g lm: %s, want %s", v, j.Verdict, want)
		}
	}
}

func TestAVerdictIsWrongSeldom(t *testing.T) {
	label := Tables()[0]
	c := claim(t, "luminous_flux", "806", "lm")
	rapid.Check(t, func(t *rapid.T) {
		m := Measured{Value: rapid.Float64Range(600, 900).Draw(t, "value"), U: rapid.Float64Range(0.5, 60).Draw(t, "u"), Units: 1}
		m.Low, m.High = m.Value-2*m.U, m.Value+2*m.U
		j := Judge(c, m, label)
		const wrong = 0.02276 // Φ(−2)
		if j.Verdict == Consistent && j.Conformity < 1-wrong || j.Verdict == Outside && j.Conformity > wrong {
			t.Fatalf("%s with a probability of conformity of %g", j.Verdict, j.Conformity)
		}
		if j.Verdict != Inconclusive {
			return
		}
		// Settles is honest: just under it the value decides.
		m.U = 0.999 * j.Settles / 2
		m.Low, m.High = m.Value-2*m.U, m.Value+2*m.U
		if d := Judge(c, m, label); j.Settles > 0 && d.Verdict == Inconclusive {
			t.Fatalf("U = %g was to settle %g lm and did not", j.Settles, m.Value)
		}
	})
}

func TestConformityIsALaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, u := rapid.Float64Range(-10, 10).Draw(t, "m"), rapid.Float64Range(0.01, 5).Draw(t, "u")
		l := rapid.Float64Range(-10, 10).Draw(t, "limit")
		h := l + rapid.Float64Range(0, 10).Draw(t, "width")
		inf := math.Inf(1)
		below, within, above := Conformity(m, u, -inf, l), Conformity(m, u, l, h), Conformity(m, u, h, inf)
		if math.Abs(below+within+above-1) > 1e-12 {
			t.Fatalf("%g + %g + %g is not 1", below, within, above)
		}
	})
}

func TestDrawsAgreeWithTheNormalLaw(t *testing.T) {
	m := uncertainty.Model{
		Inputs: []uncertainty.Input{{Name: "x", Distribution: uncertainty.Normal(780, 30)}}, Outputs: 1,
		New: func() uncertainty.Function { return func(x, y []float64) { y[0] = x[0] } },
	}
	const n = 40000
	s, err := m.MonteCarlo(context.Background(), uncertainty.Options{Seed: 1, Draws: n})
	if err != nil {
		t.Fatal(err)
	}
	f, err := Of(nil, comparison.Figure{Lamp: "A", Value: 780, Draws: s.Values(0)})
	if err != nil {
		t.Fatal(err)
	}
	j := Judge(claim(t, "luminous_flux", "806", ""), f, Tables()[0])
	want := Conformity(780, 30, 725.4, math.Inf(1))
	near(t, "probability", j.Conformity, want, 4*math.Sqrt(want*(1-want)/n))
	near(t, "lower end", j.Measured.Low, 780-1.96*30, 2)
	if j.Verdict != Inconclusive {
		t.Errorf("%s", j.Verdict)
	}
}

func TestSkewedDrawsDecideByTheirOwnInterval(t *testing.T) {
	// An index that errors can only lower: no draw above 83, a long tail below.
	draws := make([]float64, 1000)
	for k := range draws {
		draws[k] = 83 - 4*math.Pow(float64(k)/1000, 8)
	}
	f, err := Of(nil, comparison.Figure{Lamp: "A", Value: 83, Draws: draws})
	if err != nil {
		t.Fatal(err)
	}
	j := Judge(claim(t, "ra", "82", ""), f, Tables()[0])
	if j.Verdict != Inconclusive || j.Measured.High > 83 {
		t.Errorf("%s, interval %g to %g", j.Verdict, j.Measured.Low, j.Measured.High)
	}
	near(t, "share within", j.Conformity, 0.965, 0.001) // 3 of 4 reached at (3/4)^(1/8) = 0.9647
}

func TestSeveralSpecimensShareWhatTheyShare(t *testing.T) {
	var list []comparison.Figure
	for i := range 10 {
		list = append(list, comparison.Figure{Lamp: fmt.Sprint(i), Value: 731 + 2*float64(i), Causes: []comparison.Cause{
			{Name: "light meter scale", U: 10}, {Name: "refit", U: 10, Own: true}}})
	}
	m, err := Of(nil, list...)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "u of the mean of ten", m.U, math.Sqrt(100+10), 1e-9)
	near(t, "the mean", m.Value, 740, 1e-9)
	if got := m.Range(); got != "731 to 749" {
		t.Errorf("specimens from %q", got)
	}
	if m.Units != 10 || m.Widest != "light meter scale" {
		t.Errorf("%d units, widest %q", m.Units, m.Widest)
	}
}

func TestAFigureWithoutUncertaintyIsNotJudged(t *testing.T) {
	m, err := Of(nil, comparison.Figure{Lamp: "A", Value: 900})
	if err != nil {
		t.Fatal(err)
	}
	j := Judge(claim(t, "luminous_flux", "806", ""), m, Tables()[0])
	if j.Verdict != NotJudged || !strings.Contains(j.Why, "uncertainty") {
		t.Errorf("%s: %s", j.Verdict, j.Why)
	}
}

func TestClaimsAreCheckedInOneSentence(t *testing.T) {
	for _, c := range []struct{ key, value, unit, want string }{
		{"power", "-9", "W", "power cannot be -9 W: it must be above zero"},
		{"power", "9", "lm", `power is in W, not in "lm"`},
		{"power", "nine", "W", `"nine" is not a number`},
		{"power", "NaN", "W", "is not a number"},
		{"lumens", "806", "lm", `there is no quantity "lumens"`},
		{"ra", "80", "%", `ra is a pure number, and "%" was given`},
		{"energy_class", "H", "", `there is no energy class "H"`},
		{"energy_class", "A", "lm", "has no unit"},
	} {
		_, err := NewClaim(c.key, c.value, c.unit)
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: error %v, want %q", c, err, c.want)
		}
	}
	near(t, "excitation purity of 65 %", claim(t, "excitation_purity", "65", "%").Value, 0.65, 1e-15)
}

func TestEnergyClassesBeginWhereTheRegulationSays(t *testing.T) {
	for letter, want := range map[string]float64{"A": 210, "B": 185, "C": 160, "D": 135, "E": 110, "F": 85, "G": 0} {
		near(t, "class "+letter, claim(t, EnergyClass, letter, "").Value, want, 0)
	}
}

const goodTable = `{"format":"lampassay tolerances 1","key":"club","title":"Club","source":"invented for the test","from":"2026-01-01","units":1,
	"rows":[{"parameter":"sp_ratio","unit":"","side":"both","bands":[{"relative":0.05}]}]}`

func TestATableFromElsewhereCanBeAdded(t *testing.T) {
	club, err := ReadTable(strings.NewReader(goodTable))
	if err != nil {
		t.Fatal(err)
	}
	j := Judge(claim(t, "sp_ratio", "1.4", ""), measured(t, 1.42, 0.04), append(Tables()[:1:1], club)...)
	if j.Verdict != Consistent || j.Table != club {
		t.Errorf("%s by %v", j.Verdict, j.Table)
	}
	for date, want := range map[string]bool{"2025-12-31": false, "2026-01-01": true} {
		day, err := time.Parse(time.DateOnly, date)
		if err != nil {
			t.Fatal(err)
		}
		if club.HoldsOn(day) != want {
			t.Errorf("on %s: %v", date, !want)
		}
	}
}

func TestBadTablesAreRefused(t *testing.T) {
	swap := func(old, new string) string { return strings.Replace(goodTable, old, new, 1) }
	for _, c := range []struct{ text, want string }{
		{swap(`"source":"invented for the test"`, `"source":" "`), "a tolerance without a source is refused"},
		{swap(`"source":"invented for the test",`, ``), "a tolerance without a source is refused"},
		{swap("tolerances 1", "tolerances 9"), "this program reads"},
		{swap("sp_ratio", "moonlight"), `no quantity "moonlight"`},
		{swap(`"unit":""`, `"unit":"lm"`), `not in "lm"`},
		{swap(`"side":"both"`, `"side":"left"`), `side "left"`},
		{swap(`0.05`, `5`), "fraction below 1"},
		{swap(`"relative":0.05`, `"relative":-0.05`), "above zero"},
		{swap(`"relative":0.05`, `"relative":0.05,"absolute":1`), "either"},
		{swap(`{"relative":0.05}`, `{"relative":0.05},{"relative":0.1}`), "every band but the last"},
		{swap(`{"relative":0.05}`, ``), "no tolerance"},
		{swap("2026-01-01", "1 May"), "not a date"},
		{swap(`"units":1`, `"units":"ten"`), `"units" cannot be a string`},
		{goodTable[:80], "ends before the JSON does"},
		{"[", "ends before the JSON does"},
		{"quantity", "not JSON"},
	} {
		_, err := ReadTable(strings.NewReader(c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %v, want one that says %q", err, c.want)
		}
	}
}

func TestEveryTableOfTheProgramReads(t *testing.T) {
	names, err := fs.Glob(tableFiles, "tables/*.json")
	if err != nil || len(names) == 0 {
		t.Fatalf("no tables: %v", err)
	}
	for _, name := range names {
		f, err := tableFiles.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		table, err := ReadTable(f)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		} else if !strings.HasSuffix(name, table.Key+".json") || table.Units != 10 {
			t.Errorf("%s is called %q and takes the mean of %d", name, table.Key, table.Units)
		}
	}
}

func TestDeclaredValuesAreReadFromJSONAndTables(t *testing.T) {
	for name, text := range map[string]string{
		"json": `{"format":"lampassay declared 1","lamp":"L","claims":[{"quantity":"luminous_flux","value":806,"unit":"lm"},{"quantity":"power","value":8.5,"unit":"W"},{"quantity":"energy_class","value":"E"}]}`,
		"csv":  "# the box\nquantity,value,unit\nluminous_flux,806,lm\npower,8.5,W\nenergy_class,E,\n",
		"semi": "\ufeffquantity;value;unit\r\nluminous_flux;806;lm\r\npower;8,5;W\r\nenergy_class;E;\r\n",
		"tab":  "Quantity\tValue\tUnit\nluminous_flux\t806\tlm\npower\t8,5\tW\nenergy_class\te\t\n",
	} {
		d, err := ReadDeclared(name, strings.NewReader(text))
		if err != nil {
			t.Error(err)
			continue
		}
		if len(d.Claims) != 3 || d.Claims[0].Value != 806 || d.Claims[1].Value != 8.5 || d.Claims[2].Class != "E" {
			t.Errorf("%s: %+v", name, d.Claims)
		}
	}
	for _, c := range []struct{ text, want string }{
		{"quantity,value\npower,9\n", "columns quantity, value and unit"},
		{"quantity,value,unit\npower,-9,W\n", "line 2: power cannot be -9 W"},
		{"# box\nquantity,value,unit\npower,9,lm\n", "line 3: power is in W"},
		{"quantity,value,unit\npower,9,W\npower,10,W\n", "line 3: power is declared twice"},
		{"quantity,value,unit\n", "declares nothing"},
		{"", "declares nothing"},
		{"\xff\xfe", "not UTF-8"},
		{`{"format":"other"}`, "this program reads"},
		{`{"format":"lampassay declared 1","claims":[{"quantity":"flux","value":1}]}`, `no quantity "flux"`},
		{`{"format":"lampassay declared 1","watts":9}`, "watts"},
	} {
		_, err := ReadDeclared("box.csv", strings.NewReader(c.text))
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "box.csv") {
			t.Errorf("%q: error %v, want one that says %q", c.text, err, c.want)
		}
	}
}

func TestReadingsCarryTwoFiguresOfTheUncertainty(t *testing.T) {
	for _, c := range []struct {
		v, u, wantV, wantU string
	}{
		{"824.13", "24.6", "824", "49"}, {"8.1234", "0.0449", "8.123", "0.090"}, {"4021", "62", "4020", "120"}, {"79.96", "0.4975", "80.0", "1.0"}, {"-0.0042", "0.0002", "−0.00420", "0.00040"},
	} {
		var m Measured
		fmt.Sscan(c.v, &m.Value)
		fmt.Sscan(c.u, &m.U)
		if v, u := m.Reading(); v != c.wantV || u != c.wantU {
			t.Errorf("%s ± 2·%s reads %s ± %s, want %s ± %s", c.v, c.u, v, u, c.wantV, c.wantU)
		}
	}
}

func FuzzReadDeclared(f *testing.F) {
	f.Add("quantity,value,unit\nluminous_flux,806,lm\n")
	f.Add(`{"format":"lampassay declared 1","claims":[{"quantity":"power","value":9,"unit":"W"}]}`)
	f.Fuzz(func(t *testing.T, text string) {
		d, err := ReadDeclared("box", strings.NewReader(text))
		if err != nil {
			return
		}
		for _, c := range d.Claims {
			if c.Value-c.Value != 0 || c.Positive && !(c.Value > 0) {
				t.Errorf("%s of %g came through", c.Key, c.Value)
			}
		}
	})
}

func FuzzReadTable(f *testing.F) {
	f.Add(goodTable)
	f.Fuzz(func(t *testing.T, text string) {
		table, err := ReadTable(strings.NewReader(text))
		if err != nil {
			return
		}
		for i := range table.Rows {
			low, high := table.Rows[i].Limits(100)
			if strings.TrimSpace(table.Source) == "" || !(low < high) {
				t.Errorf("source %q, limits %g to %g", table.Source, low, high)
			}
		}
	})
}

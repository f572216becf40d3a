package webapp

import "testing"

func TestTheReadingsOfAMeanLeaveOutWhatIsNoSpectrum(t *testing.T) {
	of := []int64{5, 7, 8, 9, 10, 14}
	for want, span := range map[string][2]int64{"5, 7–10": {5, 10}, "14": {14, 14}, "8–9": {8, 9}} {
		if got := runsOf(of, span[0], span[1]); got != want {
			t.Errorf("readings %d to %d are %q, not %q", span[0], span[1], got, want)
		}
	}
}

func TestANumberIsReadWithoutExponentsAndHyphens(t *testing.T) {
	for _, c := range []struct {
		v           float64
		read, taken string // in a sentence, and by a form
	}{
		{0, "0", "0"},
		{-5, "−5", "-5"},
		{24.5, "24.5", "24.5"},
		{1e6, "1000000", "1000000"},
		{9.9999999e7, "9.9999999\u00a0×\u00a010⁷", "99999999"},
		{1e9, "1\u00a0×\u00a010⁹", "1000000000"},
		{-9.75e-6, "−9.75\u00a0×\u00a010⁻⁶", "-0.00000975"},
	} {
		if got := written(c.v); got != c.read {
			t.Errorf("%g is read as %q, not %q", c.v, got, c.read)
		}
		got := plain(c.v)
		if got != c.taken {
			t.Errorf("a form takes %g as %q, not %q", c.v, got, c.taken)
		}
		for _, text := range []string{got, num(&c.v)} {
			if back, err := parseNumber(text); err != nil || back != c.v {
				t.Errorf("%q is read back as %g, %v", text, back, err)
			}
		}
	}
}

func TestAValueEndsWhereItsUncertaintyDoes(t *testing.T) {
	for _, c := range []struct {
		v, u     float64
		value, U string
	}{
		{1, 0.001, "1.000", "0.001"},
		{1.2345, 0.0996, "1.2", "0.1"},
		{12.34, 3, "12", "3"},
		{-0.004, 0.002, "−0.004", "0.002"},
		{1.23456, 0, "1.235", "0.000"},
	} {
		if v, u := together(c.v, c.u); v != c.value || u != c.U {
			t.Errorf("%g ± %g is written %s ± %s, not %s ± %s", c.v, c.u, v, u, c.value, c.U)
		}
	}
}

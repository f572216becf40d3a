package rendition

// DesignIntent returns the levels of ANSI/IES TM-30-20 Annex E that a light
// meets for preference, vividness and fidelity: 1, the tightest, to 3, and 0
// where none is met. The thresholds are from memory and have not been compared
// with the annex.
func DesignIntent(t *TM30) (preference, vividness, fidelity int) {
	rcs1, rf1 := t.RcsH[0], t.RfH[0]
	preference = level([3]bool{
		t.Rf >= 78 && t.Rg >= 95 && rcs1 >= -0.01 && rcs1 <= 0.15,
		t.Rf >= 75 && t.Rg >= 92 && rcs1 >= -0.07 && rcs1 <= 0.19,
		t.Rf >= 70 && t.Rg >= 89 && rcs1 >= -0.12 && rcs1 <= 0.23,
	})
	vividness = level([3]bool{
		t.Rg >= 118 && rcs1 >= 0.15,
		t.Rg >= 110 && rcs1 >= 0.06,
		t.Rg >= 100 && rcs1 >= 0,
	})
	fidelity = level([3]bool{
		t.Rf >= 95,
		t.Rf >= 90 && rf1 >= 90,
		t.Rf >= 85 && rf1 >= 85,
	})
	return preference, vividness, fidelity
}

func level(met [3]bool) int {
	for i, ok := range met {
		if ok {
			return i + 1
		}
	}
	return 0
}

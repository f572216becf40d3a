package sheet

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"lampassay/assay/quantity"
)

func TestTheBoxIsHeldAgainstTheMeasurement(t *testing.T) {
	l := lampOf(t, specimens[0])
	p, err := boxClaims(&l)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Rows) != 4 {
		t.Fatalf("%d claims drawn, want 4: %v", len(p.Rows), p.Rows)
	}
	for _, want := range []string{"n = 1", "k = 2", "Regulation (EU) 2019/2015, Annex IX, Table 9 (for the mean of 10)"} {
		if !strings.Contains(p.Note, want) {
			t.Errorf("the note does not say %q: %s", want, p.Note)
		}
	}
	var page bytes.Buffer
	if err := Write(&page, l, Options{}); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(page.String(), "What the box says") {
		t.Error("the sheet has no section of what the box says")
	}
}

func TestABoxIsNotJudgedWithoutUncertaintyOrOutsideScope(t *testing.T) {
	l := lampOf(t, specimens[3]) // one colour: its Ra is outside the method's scope
	l.Declared = append(slices.Clone(l.Declared), Declared{quantity.Ra, 20})
	p, err := boxClaims(&l)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Rows) != 2 || p.Rows[0][0] != "Luminous flux" || p.Rows[1][0] != "Correlated colour temperature" {
		t.Errorf("claims drawn: %v", p.Rows)
	}
	l.Result.Uncertainty = nil
	if p, err := boxClaims(&l); p != nil || err != nil {
		t.Errorf("a box was judged without uncertainties: %v, %v", p, err)
	}
}

package emission

import (
	"strings"
	"testing"

	"lampassay/light/standards"
)

func TestEveryIlluminantIsPutInItsFamily(t *testing.T) {
	seen := 0
	for _, il := range standards.Illuminants() {
		want, ok := StatedFamily(il.Name)
		if !ok {
			t.Errorf("%s: no family is on record", il.Name)
			continue
		}
		seen++
		r, err := Analyse(il.Spectrum, Options{})
		if err != nil {
			t.Fatalf("%s: %v", il.Name, err)
		}
		if r.Family.Key != want {
			t.Errorf("%s is %q (%.2f: %v), want %q", il.Name, r.Family.Name, r.Family.Score, r.Family.Reasons, want)
		}
		if len(r.Family.Reasons) == 0 {
			t.Errorf("%s: no reasons", il.Name)
		}
	}
	if seen != len(statedFamilies) {
		t.Errorf("%d of %d illuminants seen", seen, len(statedFamilies))
	}
}

func TestMercuryIsFoundInEveryFluorescentAndSodiumInHP1AndHP2(t *testing.T) {
	for _, il := range standards.Illuminants() {
		var want string
		switch {
		case strings.HasPrefix(il.Name, "FL"):
			want = "Hg I"
		case il.Name == "HP1" || il.Name == "HP2":
			want = "Na I"
		default:
			continue
		}
		r, err := Analyse(il.Spectrum, Options{})
		if err != nil {
			t.Fatalf("%s: %v", il.Name, err)
		}
		if e := r.Element(want); e == nil || e.Score < 0.8 {
			t.Errorf("%s: %s not found: %+v", il.Name, want, r.Elements)
		}
		if len(r.Warnings) == 0 {
			t.Errorf("%s: a table at 5 nm gave no warning", il.Name)
		}
	}
}

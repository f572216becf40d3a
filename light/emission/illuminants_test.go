package emission

import (
	"strings"
	"testing"

	"lampassay/light/standards"
)

// The kinds are those that CIE 15:2018 gives with its tables 10.1 (FL1–6
// standard, FL7–9 broad-band, FL10–12 three narrow bands), 10.2 (FL3.1–3
// standard halophosphate, 4–6 de luxe, 7–11 three-band, 12–14 multi-band, 15
// daylight simulator), 11 (HP1 standard and HP2 colour-enhanced high-pressure
// sodium, HP3–5 metal halide) and 12 (LED-B phosphor-converted blue, BH blue
// hybrid, RGB mixed, V phosphor-converted violet).
var illuminantFamilies = map[string]string{
	"A": FamilyIncandescent, "C": FamilyDaylight, "D65": FamilyDaylight, "D50": FamilyDaylight,
	"FL1": FamilyHalophosphate, "FL2": FamilyHalophosphate, "FL3": FamilyHalophosphate,
	"FL4": FamilyHalophosphate, "FL5": FamilyHalophosphate, "FL6": FamilyHalophosphate,
	"FL7": FamilyMultiband, "FL8": FamilyMultiband, "FL9": FamilyMultiband,
	"FL10": FamilyTriphosphor, "FL11": FamilyTriphosphor, "FL12": FamilyTriphosphor,
	"FL3.1": FamilyHalophosphate, "FL3.2": FamilyHalophosphate, "FL3.3": FamilyHalophosphate,
	"FL3.4": FamilyMultiband, "FL3.5": FamilyMultiband, "FL3.6": FamilyMultiband,
	"FL3.7": FamilyTriphosphor, "FL3.8": FamilyTriphosphor, "FL3.9": FamilyTriphosphor,
	"FL3.10": FamilyTriphosphor, "FL3.11": FamilyTriphosphor,
	"FL3.12": FamilyMultiband, "FL3.13": FamilyMultiband, "FL3.14": FamilyMultiband, "FL3.15": FamilyMultiband,
	"HP1": FamilyHPS, "HP2": FamilyHPS, "HP3": FamilyMetalHalide, "HP4": FamilyMetalHalide, "HP5": FamilyMetalHalide,
	"LED-B1": FamilyLEDPhosphor, "LED-B2": FamilyLEDPhosphor, "LED-B3": FamilyLEDPhosphor,
	"LED-B4": FamilyLEDPhosphor, "LED-B5": FamilyLEDPhosphor, "LED-BH1": FamilyLEDPhosphor,
	"LED-RGB1": FamilyLEDMixed, "LED-V1": FamilyLEDPhosphor, "LED-V2": FamilyLEDPhosphor,
}

func TestEveryIlluminantIsPutInItsFamily(t *testing.T) {
	seen := 0
	for _, il := range standards.Illuminants() {
		want, ok := illuminantFamilies[il.Name]
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
	if seen != len(illuminantFamilies) {
		t.Errorf("%d of %d illuminants seen", seen, len(illuminantFamilies))
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

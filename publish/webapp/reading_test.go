package webapp

import (
	"strings"
	"testing"

	"lampassay/bench/ingest"
)

// TestAPageNamesItsOwnQuestionsAndNoOption takes sentences that readers of files say.
func TestAPageNamesItsOwnQuestionsAndNoOption(t *testing.T) {
	table, err := ingest.ParseProjection("tabulated")
	if err != nil {
		t.Fatal(err)
	}
	for name, tc := range map[string]struct {
		file string
		read ingest.Options
		want string
	}{
		"ångström":   {"3800,1\n3810,2\n3820,3\n", ingest.Options{}, "if they are ångström say “Wavelengths in: Å”."},
		"wavenumber": {"12500,1\n20000,2\n25000,3\n", ingest.Options{}, "say “Wavelengths in: cm⁻¹” or “Wavelengths in: cm⁻¹, values per cm⁻¹”."},
		"projection": {"400.5,1\n401.25,2\n403,3\n", ingest.Options{Projection: table}, "read them as a curve: “Samples are: an instrument’s curve”."},
		"quantity": {`<IESTM2714><SpectralDistribution><SpectralQuantity>transmittance</SpectralQuantity>` +
			`<SpectralData wavelength="400">1</SpectralData><SpectralData wavelength="500">1</SpectralData></SpectralDistribution></IESTM2714>`, ingest.Options{}, "“Values are” says which."},
	} {
		_, err := ingest.Read("export.csv", strings.NewReader(tc.file), tc.read)
		if err == nil {
			t.Errorf("%s: the file is read", name)
		} else if got := sentence(err.Error()); !strings.HasSuffix(got, tc.want) || strings.Contains(got, "--") {
			t.Errorf("%s: %s", name, got)
		}
	}
	if s := "Record it with --keyboard."; sentence(s) != s {
		t.Errorf("what is no question of the page stays: %s", sentence(s))
	}
}

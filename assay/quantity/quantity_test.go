package quantity

import (
	"regexp"
	"testing"
)

func TestEveryQuantityIsRegisteredOnce(t *testing.T) {
	key := regexp.MustCompile(`^[a-z][a-z0-9]*(_[a-z0-9]+)*$`)
	seen := map[string]bool{}
	for i, d := range All() {
		if d.ID != ID(i) || !key.MatchString(d.Key) || d.Name == "" || d.Source == "" || d.Group == "" {
			t.Errorf("entry %d is incomplete: %+v", i, d)
		}
		if seen[d.Key] {
			t.Errorf("key %q stands twice", d.Key)
		}
		seen[d.Key] = true
		if got, err := ByKey(d.Key); err != nil || got.ID != d.ID {
			t.Errorf("ByKey(%q) = %v, %v", d.Key, got, err)
		}
	}
	if _, err := ByKey("lumens"); err == nil {
		t.Error("an unknown key was found")
	}
}

func TestThePublishedKeysStand(t *testing.T) {
	// The contract: these keys are written into other people's scripts.
	for _, k := range []string{"luminous_flux", "power", "luminous_efficacy", "radiant_flux", "radiant_efficiency", "ler",
		"x", "y", "u_prime", "v_prime", "cct", "duv", "dominant_wavelength", "excitation_purity", "peak_wavelength",
		"centroid_wavelength", "fwhm", "ra", "r1", "r15", "rf", "rg", "rf_h1", "rf_h16", "rcs_h1", "rcs_h16", "rhs_h1",
		"rhs_h16", "ssi", "sp_ratio", "mel_der", "s_cone_der", "m_cone_der", "l_cone_der", "rhodopic_der", "share_uv",
		"share_visible", "share_ir"} {
		if _, err := ByKey(k); err != nil {
			t.Error(err)
		}
	}
}

func TestFormatRoundsForReading(t *testing.T) {
	for _, c := range []struct {
		id   ID
		v    float64
		want string
	}{
		{CCT, 2998.7, "2999"},
		{Duv, -0.00004, "0.0000"},
		{Duv, -0.0042, "−0.0042"},
		{Ra, -46.2, "−46"},
		{LuminousFlux, 806.04, "806.0"},
		{LuminousFlux, 12345.6, "12350"},
		{Power, 0.4567, "0.457"},
		{ShareVisible, 0.9834, "98.3"},
		{RcsHue(1), -0.254, "−25"},
		{Power, 0, "0.00"},
	} {
		if got := Get(c.id).Format(c.v); got != c.want {
			t.Errorf("%s: Format(%g) = %q, want %q", Get(c.id).Key, c.v, got, c.want)
		}
	}
}

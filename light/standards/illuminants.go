package standards

import (
	"fmt"
	"strings"
	"sync"

	"lampassay/light/spectrum"
)

// Illuminant is a published relative spectral power distribution.
type Illuminant struct {
	Name     string
	Spectrum *spectrum.Spectrum // relative, on the published nodes
	Source   string             // the publication to cite
}

// Illuminants returns every published illuminant that is carried, at 5 nm, in
// the order of CIE 15: A, D65, D50, C, FL1–FL12, FL3.1–FL3.15, HP1–HP5, LED-B1 …
// LED-V2. The slice must not be changed.
func Illuminants() []Illuminant { return illuminants() }

var illuminants = sync.OnceValue(func() []Illuminant {
	var all []Illuminant
	for _, name := range []string{"illuminant_a_d65", "illuminant_d50", "illuminant_c", "illuminant_fl", "illuminant_fl3", "illuminant_hp", "illuminant_led"} {
		t := mustLoad(name)
		for c, column := range t.Columns {
			s, err := spectrum.New(spectrum.Relative, t.Nm, t.Data[c])
			if err != nil {
				panic(err)
			}
			all = append(all, Illuminant{column, s, t.Cite()})
		}
	}
	return all
})

// IlluminantByName finds an illuminant; letter case, spaces and hyphens do not
// matter ("led b1" is LED-B1).
func IlluminantByName(name string) (Illuminant, error) {
	plain := func(s string) string {
		return strings.NewReplacer("-", "", " ", "", "_", "").Replace(strings.ToUpper(s))
	}
	for _, il := range Illuminants() {
		if plain(il.Name) == plain(name) {
			return il, nil
		}
	}
	return Illuminant{}, fmt.Errorf("standards: no illuminant is called %q", name)
}

package photometric

import "fmt"

// Edition of LM-63 by its year.
type Edition int

// The editions.
const (
	LM63of1986 Edition = 1986
	LM63of1991 Edition = 1991
	LM63of1995 Edition = 1995
	LM63of2002 Edition = 2002
	LM63of2019 Edition = 2019
)

// String returns the name by which the edition is cited.
func (e Edition) String() string { return fmt.Sprintf("LM-63-%d", int(e)) }

// Goniometry is the system of angles.
type Goniometry int

// The systems of angles, by the numbers that files use.
const (
	TypeC Goniometry = 1 // vertical from straight down, horizontal round the vertical axis
	TypeB Goniometry = 2
	TypeA Goniometry = 3
)

// String returns “C”, “B” or “A”.
func (g Goniometry) String() string {
	if g >= TypeC && g <= TypeA {
		return "CBA"[g-1 : g]
	}
	return fmt.Sprintf("Goniometry(%d)", int(g))
}

// Symmetry says what the horizontal angles leave out.
type Symmetry string

// The symmetries.
const (
	Rotational Symmetry = "rotational" // one vertical plane stands for all
	Quadrant   Symmetry = "quadrant"   // 0° to 90° stand for all four
	Bilateral  Symmetry = "bilateral"  // one half stands for the other
	None       Symmetry = "none"
)

// Keyword is a labelled line of the head. The lines of 1986, and those between
// others without a label, have no name. [MORE] continues the text before it after
// a line feed.
type Keyword struct {
	Name string `json:"name"`
	Text string `json:"text"`
}

// Tilt says how the lamp's light changes with the angle it is tilted to.
type Tilt struct {
	Geometry int       `json:"geometry"` // of lamp and luminaire, 1 to 3
	Angles   []float64 `json:"angles"`   // degrees
	Factors  []float64 `json:"factors"`
}

// File is an LM-63 file as it was read.
type File struct {
	Name    string  `json:"name"`
	SHA256  string  `json:"sha256"` // of the file's bytes, hexadecimal
	Edition Edition `json:"edition"`

	Keywords []Keyword `json:"keywords"`
	Tilt     *Tilt     `json:"tilt,omitempty"`      // where the file includes one
	TiltFile string    `json:"tilt_file,omitempty"` // the file that TILT= names; not read

	Lamps int `json:"lamps"`
	// Lumens is the rated flux of a lamp in lm; Absolute files have −1 there: the
	// candela values are of the lamp as it was measured.
	Lumens   float64 `json:"lumens_per_lamp"`
	Absolute bool    `json:"absolute"`

	Multiplier    float64 `json:"candela_multiplier"`
	BallastFactor float64 `json:"ballast_factor"`
	// LampFactor is the ballast-lamp photometric factor of 1986 and 1991, which
	// multiplies the candela values too; 1 in later editions.
	LampFactor float64 `json:"lamp_factor"`
	// Generation is 2019's file generation type, which multiplies nothing; 0 in
	// earlier editions.
	Generation float64 `json:"generation_type,omitempty"`
	Watts      float64 `json:"watts"` // input power

	// Width, Length and Height of the luminous opening in metres. Their signs code
	// its shape, differently in the early editions: see [File.Opening].
	Width  float64 `json:"width_m"`
	Length float64 `json:"length_m"`
	Height float64 `json:"height_m"`

	Goniometry Goniometry `json:"goniometry"`
	Symmetry   Symmetry   `json:"symmetry"`
	Vertical   []float64  `json:"vertical_deg"`
	Horizontal []float64  `json:"horizontal_deg"`
	// Candela[h][v] is the intensity at Horizontal[h] and Vertical[v] in cd, with
	// Multiplier, BallastFactor and LampFactor applied.
	Candela [][]float64 `json:"candela"`

	Encoding string   `json:"encoding"`
	Warnings []string `json:"warnings,omitempty"`
}

func (f *File) warn(format string, a ...any) {
	f.Warnings = append(f.Warnings, fmt.Sprintf(format, a...))
}

// Keyword returns the text of the first keyword of a name, such as LUMCAT.
func (f *File) Keyword(name string) (text string, ok bool) {
	for _, k := range f.Keywords {
		if k.Name == name {
			return k.Text, true
		}
	}
	return "", false
}

// Opening says what the dimensions and their signs stand for. It is for
// information: editions before 2002 coded shapes otherwise, and files do not
// always follow their own. "" is for those editions and for signs that no shape
// has here.
func (f *File) Opening() string {
	w, l, h := f.Width, f.Length, f.Height
	switch {
	case f.Edition < LM63of2002:
		return ""
	case w == 0 && l == 0 && h == 0:
		return "point"
	case w > 0 && l > 0 && h == 0:
		return "rectangle"
	case w > 0 && l > 0 && h > 0:
		return "box with luminous sides"
	case w < 0 && w == l && h == 0:
		return "circle"
	case w < 0 && l < 0 && h == 0:
		return "ellipse"
	case w < 0 && w == l && h > 0:
		return "vertical cylinder"
	case w < 0 && w == l && w == h:
		return "sphere"
	case w < 0 && l < 0 && h < 0:
		return "ellipsoid"
	}
	return ""
}

// Provenance says what 2019's file generation type stands for (from memory); ""
// in earlier editions.
func (f *File) Provenance() string {
	if f.Edition < LM63of2019 {
		return ""
	}
	// Five decimal digits: accredited, interpolated, scaled, simulated, undefined.
	code := int((f.Generation-1)*1e5 + 0.5)
	if f.Generation < 1 || f.Generation >= 2 {
		return "an unknown code"
	}
	digit := func(place int) bool { return code/place%10 == 1 }
	s := "a test in a laboratory without accreditation"
	switch {
	case digit(1):
		s = "undefined, or an earlier edition"
	case digit(10):
		s = "a simulation"
	case digit(10000):
		s = "a test in an accredited laboratory"
	}
	if digit(1000) {
		s += ", angles interpolated"
	}
	if digit(100) {
		s += ", lumens scaled"
	}
	return s
}

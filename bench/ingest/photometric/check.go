package photometric

import (
	"fmt"

	"lampassay/bench/ingest"
)

// check holds the angles against the rules of their system and settles the
// symmetry.
func (f *File) check() error {
	if f.Lumens < 0 && f.Lumens != -1 {
		f.warn("the lumens per lamp are %g: it is read as −1, which marks absolute values", f.Lumens)
	}
	if f.Watts < 0 {
		f.warn("the input power is %g W", f.Watts)
	}
	if f.Goniometry == TypeC {
		return f.checkTypeC()
	}
	return f.checkTypesAB()
}

// checkTypeC: vertical angles from 0° or 90° to 90° or 180°, 0° straight down;
// horizontal ones from 0° to 0°, 90°, 180° or on to 360° at most, or from 90° to
// 270° for a lamp whose halves mirror each other across that plane.
func (f *File) checkTypeC() error {
	v, h := f.Vertical, f.Horizontal
	low, high := v[0], v[len(v)-1]
	if low < 0 || high > 180 {
		return outOfRange("vertical", low, high, "0° to 180° in type C")
	}
	if low != 0 && low != 90 || high != 90 && high != 180 {
		f.warn("the vertical angles run from %g° to %g°: the standard has them begin at 0° or 90° and end at 90° or 180°, and nothing is known beyond", low, high)
	}
	low, high = h[0], h[len(h)-1]
	switch {
	case low == 90 && high == 270:
		f.Symmetry = Bilateral
	case low != 0 || high > 360:
		return outOfRange("horizontal", low, high, "they begin at 0° in type C, or run from 90° to 270°")
	case high == 0:
		f.Symmetry = Rotational
	case high == 90:
		f.Symmetry = Quadrant
	case high == 180:
		f.Symmetry = Bilateral
	case high > 180:
		f.Symmetry = None
	default:
		return outOfRange("horizontal", low, high, "they end at 0°, 90°, 180° or above 180° in type C")
	}
	return nil
}

// checkTypesAB: both kinds of angle from −90° or 0° to 90°; horizontal ones that
// begin at 0° stand for both sides.
func (f *File) checkTypesAB() error {
	for _, a := range []struct {
		kind   string
		angles []float64
	}{{"vertical", f.Vertical}, {"horizontal", f.Horizontal}} {
		low, high := a.angles[0], a.angles[len(a.angles)-1]
		if low < -90 || high > 90 {
			return outOfRange(a.kind, low, high, fmt.Sprintf("−90° to 90° in type %s", f.Goniometry))
		}
		if low != -90 && low != 0 || high != 90 {
			f.warn("the %s angles run from %g° to %g°: the standard has them begin at −90° or 0° and end at 90°, and nothing is known beyond", a.kind, low, high)
		}
	}
	f.Symmetry = None
	if f.Horizontal[0] == 0 {
		f.Symmetry = Bilateral
	}
	return nil
}

func outOfRange(kind string, low, high float64, want string) error {
	return &ingest.Problem{Found: fmt.Sprintf("%s angles from %g° to %g°", kind, low, high), Want: want}
}

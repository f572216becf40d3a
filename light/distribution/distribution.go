package distribution

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Symmetry is what the tester states of a lamp: which half-planes are alike.
type Symmetry int

// The symmetries.
const (
	None       Symmetry = iota // every half-plane may differ
	Bilateral                  // C and 360° − C are alike: one half mirrors the other
	Quadrant                   // C, 180° − C, 180° + C and 360° − C are alike
	Rotational                 // all half-planes are alike
)

var symmetryNames = [...]string{"none", "bilateral", "quadrant", "rotational"}

// String returns the name of the symmetry in one word.
func (s Symmetry) String() string {
	if s < 0 || int(s) >= len(symmetryNames) {
		return fmt.Sprintf("Symmetry(%d)", int(s))
	}
	return symmetryNames[s]
}

// ParseSymmetry is the inverse of String.
func ParseSymmetry(name string) (Symmetry, error) {
	if i := slices.Index(symmetryNames[:], name); i >= 0 {
		return Symmetry(i), nil
	}
	return 0, fmt.Errorf("distribution: no symmetry is called %q: it is none, bilateral, quadrant or rotational", name)
}

// fold moves a half-plane to the one that stands for it.
func (s Symmetry) fold(c float64) float64 {
	c = math.Mod(math.Mod(c, 360)+360, 360)
	switch s {
	case Rotational:
		return 0
	case Quadrant:
		if c > 180 {
			c = 360 - c
		}
		return min(c, 180-c)
	case Bilateral:
		return min(c, 360-c)
	}
	return c
}

// span is the last half-plane that a symmetry asks for.
func (s Symmetry) span() float64 { return [...]float64{360, 180, 90, 0}[s] }

// Beyond is what to assume of the angles γ that were not measured.
type Beyond int

// The assumptions.
const (
	Whole  Beyond = iota // nothing: all angles from 0° to 180° must be there
	Dark                 // no light goes there
	Hold                 // the intensity of the nearest angle that was measured
	Mirror               // the intensity at 180° − γ, where that was measured
)

var beyondNames = [...]string{"whole", "dark", "hold", "mirror"}

// String returns the name of the assumption in one word.
func (b Beyond) String() string {
	if b < 0 || int(b) >= len(beyondNames) {
		return fmt.Sprintf("Beyond(%d)", int(b))
	}
	return beyondNames[b]
}

// ParseBeyond is the inverse of String.
func ParseBeyond(name string) (Beyond, error) {
	if i := slices.Index(beyondNames[:], name); i >= 0 {
		return Beyond(i), nil
	}
	return 0, fmt.Errorf("distribution: no assumption is called %q: it is whole, dark, hold or mirror", name)
}

// widestStep is how far apart neighbouring half-planes may stand without a
// symmetry: with fewer than four the other directions are anyone's guess.
const widestStep = 90

// GapError says that angles leave part of the sphere without a reading.
type GapError struct {
	From, To   float64 // degrees
	Planes     bool    // the angles are half-planes C; else γ
	SolidAngle float64 // sr that have no reading
}

// Error returns one sentence.
func (e *GapError) Error() string {
	share := 100 * e.SolidAngle / (4 * math.Pi)
	if e.Planes {
		return fmt.Sprintf("distribution: no half-plane lies between C = %g° and %g°, so that %.3g sr (%.0f %% of the sphere) are unknown", e.From, e.To, e.SolidAngle, share)
	}
	return fmt.Sprintf("distribution: no angle γ lies between %g° and %g°, so that %.3g sr (%.0f %% of the sphere) are unknown", e.From, e.To, e.SolidAngle, share)
}

// Distribution is luminous intensity over all directions.
type Distribution struct {
	symmetry Symmetry
	gamma    []float64   // degrees, rising from 0 to 180
	c        []float64   // degrees, rising, as the symmetry folds them
	round    []float64   // radians: what half-plane c[i] stands for, 2π in all
	cd       [][]float64 // cd[i][j] at c[i] and gamma[j]
	measured interval    // of γ; beyond it all is assumed
	plain    bool        // all of γ was measured
}

type interval struct{ from, to float64 }

// New makes a distribution of candela[i][j] at half-plane planes[i] and angle
// gamma[j], in degrees. gamma rises within 0° to 180°. Half-planes come in any
// order from −360° to 360°; those that the symmetry makes one are averaged. A
// value that noise made negative is data. It fails with a [*GapError] where angles
// are missing that neither symmetry nor assumption supplies.
func New(gamma, planes []float64, candela [][]float64, symmetry Symmetry, beyond Beyond) (*Distribution, error) {
	if symmetry < None || symmetry > Rotational || beyond < Whole || beyond > Mirror {
		return nil, fmt.Errorf("distribution: %v and %v are no symmetry and assumption", symmetry, beyond)
	}
	if err := checkShape(gamma, planes, candela); err != nil {
		return nil, err
	}
	d := &Distribution{symmetry: symmetry, gamma: slices.Clone(gamma), measured: interval{gamma[0], gamma[len(gamma)-1]}}
	d.plain = d.measured == interval{0, 180}
	d.foldPlanes(planes, candela)
	if err := d.closeCircle(); err != nil {
		return nil, err
	}
	if err := d.fill(beyond); err != nil {
		return nil, err
	}
	return d, nil
}

func checkShape(gamma, planes []float64, candela [][]float64) error {
	if len(gamma) == 0 || len(planes) == 0 {
		return fmt.Errorf("distribution: %d angles γ on %d half-planes: at least one of each is needed", len(gamma), len(planes))
	}
	for j, g := range gamma {
		if !(g >= 0 && g <= 180) {
			return fmt.Errorf("distribution: the angle γ = %g° is outside 0° to 180°", g)
		}
		if j > 0 && g <= gamma[j-1] {
			return fmt.Errorf("distribution: the angle γ = %g° does not rise above the %g° before it", g, gamma[j-1])
		}
	}
	if len(candela) != len(planes) {
		return fmt.Errorf("distribution: %d half-planes have angles but %d have intensities", len(planes), len(candela))
	}
	for i, c := range planes {
		if !(c >= -360 && c <= 360) {
			return fmt.Errorf("distribution: the half-plane C = %g° is outside −360° to 360°", c)
		}
		if len(candela[i]) != len(gamma) {
			return fmt.Errorf("distribution: %d intensities at %d angles on the half-plane C = %g°", len(candela[i]), len(gamma), c)
		}
		for j, v := range candela[i] {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Errorf("distribution: the intensity at γ = %g°, C = %g° is not a finite number", gamma[j], c)
			}
		}
	}
	return nil
}

// foldPlanes sorts the half-planes as the symmetry folds them and averages those
// that coincide.
func (d *Distribution) foldPlanes(planes []float64, candela [][]float64) {
	order := make([]int, len(planes))
	for i := range order {
		order[i] = i
	}
	folded := func(i int) float64 { return d.symmetry.fold(planes[i]) }
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(folded(a), folded(b)) })
	for len(order) > 0 {
		n := 1
		for n < len(order) && folded(order[n]) == folded(order[0]) {
			n++
		}
		mean := make([]float64, len(d.gamma))
		for _, i := range order[:n] {
			for j, v := range candela[i] {
				mean[j] += v / float64(n)
			}
		}
		d.c, d.cd = append(d.c, folded(order[0])), append(d.cd, mean)
		order = order[n:]
	}
}

// closeCircle weights the half-planes by the trapezoids they stand for, which is
// the integral of what is straight between them.
func (d *Distribution) closeCircle() error {
	n, span := len(d.c), d.symmetry.span()
	d.round = make([]float64, n)
	if d.symmetry == Rotational {
		d.round[0] = 2 * math.Pi
		return nil
	}
	// times is how often the span goes round; one without symmetry joins its end.
	times := 360 / span * math.Pi / 180
	step := func(i, k int, from, to float64) error {
		if to-from > widestStep {
			return &GapError{From: from, To: to, Planes: true, SolidAngle: 2 * times * (to - from)}
		}
		d.round[i] += times * (to - from) / 2
		d.round[k] += times * (to - from) / 2
		return nil
	}
	for i := range n - 1 {
		if err := step(i, i+1, d.c[i], d.c[i+1]); err != nil {
			return err
		}
	}
	if d.symmetry == None {
		return step(n-1, 0, d.c[n-1], d.c[0]+360)
	}
	if d.c[0] != 0 {
		return &GapError{From: 0, To: d.c[0], Planes: true, SolidAngle: 2 * times * d.c[0]}
	}
	if d.c[n-1] != span {
		return &GapError{From: d.c[n-1], To: span, Planes: true, SolidAngle: 2 * times * (span - d.c[n-1])}
	}
	return nil
}

// fill completes γ to 0° and 180°. A jump, from what was measured to darkness, is
// two angles a hair apart.
func (d *Distribution) fill(beyond Beyond) error {
	if beyond == Mirror && !d.plain {
		return d.mirror()
	}
	const hair = 1e-9
	if from := d.measured.from; from > 0 {
		switch beyond {
		case Whole:
			return &GapError{From: 0, To: from, SolidAngle: Zone(0, from)}
		case Dark:
			d.insert(0, func([]float64) float64 { return 0 }, 0, from*(1-hair))
		case Hold:
			d.insert(0, func(plane []float64) float64 { return plane[0] }, 0)
		}
	}
	if to := d.measured.to; to < 180 {
		switch beyond {
		case Whole:
			return &GapError{From: to, To: 180, SolidAngle: Zone(to, 180)}
		case Dark:
			d.insert(len(d.gamma), func([]float64) float64 { return 0 }, to+(180-to)*hair, 180)
		case Hold:
			d.insert(len(d.gamma), func(plane []float64) float64 { return plane[len(plane)-1] }, 180)
		}
	}
	return nil
}

// insert puts angles at a place, on every half-plane with the same value.
func (d *Distribution) insert(at int, value func(plane []float64) float64, angles ...float64) {
	d.gamma = slices.Insert(d.gamma, at, angles...)
	for i, plane := range d.cd {
		v := value(plane)
		for range angles {
			plane = slices.Insert(plane, at, v)
		}
		d.cd[i] = plane
	}
}

// mirror completes γ with what was measured at 180° − γ.
func (d *Distribution) mirror() error {
	from, to := d.measured.from, d.measured.to
	if from > 0 && 180-to > 0 {
		low := min(from, 180-to)
		return &GapError{From: 0, To: low, SolidAngle: 2 * Zone(0, low)}
	}
	n := len(d.gamma)
	var images []int
	for j, g := range d.gamma {
		if 180-g < from || 180-g > to {
			images = append(images, j)
		}
	}
	if from > 90 || to < 90 {
		return &GapError{From: min(to, 180-from), To: max(from, 180-to), SolidAngle: Zone(min(to, 180-from), max(from, 180-to))}
	}
	gamma, at := d.gamma, 0
	if from == 0 {
		at = n
	}
	slices.Reverse(images)
	d.gamma = slices.Clone(gamma)
	for k, j := range images {
		d.gamma = slices.Insert(d.gamma, at+k, 180-gamma[j])
	}
	for i, plane := range d.cd {
		whole := slices.Clone(plane)
		for k, j := range images {
			whole = slices.Insert(whole, at+k, plane[j])
		}
		d.cd[i] = whole
	}
	return nil
}

// Symmetry returns the symmetry that was stated.
func (d *Distribution) Symmetry() Symmetry { return d.symmetry }

// Gamma returns the angles γ in degrees, filled up to 0° and 180°; not to be changed.
func (d *Distribution) Gamma() []float64 { return d.gamma }

// Planes returns the half-planes C in degrees as the symmetry folds them; not to
// be changed.
func (d *Distribution) Planes() []float64 { return d.c }

// Candela returns the intensities on half-plane i of Planes at every angle of
// Gamma; not to be changed.
func (d *Distribution) Candela(i int) []float64 { return d.cd[i] }

// Measured returns the angles γ between which readings lie.
func (d *Distribution) Measured() (from, to float64) { return d.measured.from, d.measured.to }

// At returns the intensity in cd in a direction, in degrees.
func (d *Distribution) At(gamma, c float64) float64 {
	j, g := place(d.gamma, min(max(gamma, 0), 180))
	on := func(plane []float64) float64 { return (1-g)*plane[j] + g*plane[j+1] }
	n := len(d.c)
	if n == 1 {
		return on(d.cd[0])
	}
	c = d.symmetry.fold(c)
	if d.symmetry == None && (c < d.c[0] || c >= d.c[n-1]) {
		if c < d.c[0] {
			c += 360
		}
		f := (c - d.c[n-1]) / (d.c[0] + 360 - d.c[n-1])
		return (1-f)*on(d.cd[n-1]) + f*on(d.cd[0])
	}
	i, f := place(d.c, c)
	return (1-f)*on(d.cd[i]) + f*on(d.cd[i+1])
}

// place finds x among rising values: between i and i+1, the share f of the way.
func place(values []float64, x float64) (i int, f float64) {
	k, _ := slices.BinarySearch(values, x)
	i = min(max(k-1, 0), len(values)-2)
	return i, min(max((x-values[i])/(values[i+1]-values[i]), 0), 1)
}

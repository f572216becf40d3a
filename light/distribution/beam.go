package distribution

import "math"

// Peak returns the largest intensity in cd and its direction in degrees: the first
// such where several are as large.
func (d *Distribution) Peak() (cd, gamma, c float64) {
	cd = math.Inf(-1)
	for i, plane := range d.cd {
		for j, v := range plane {
			if v > cd {
				cd, gamma, c = v, d.gamma[j], d.c[i]
			}
		}
	}
	return cd, gamma, c
}

// Centre returns the centre-beam intensity in cd: at γ = 0°, which is one
// direction on all half-planes and so the mean of them.
func (d *Distribution) Centre() float64 {
	sum := 0.0
	for i, plane := range d.cd {
		sum += d.round[i] * plane[0]
	}
	return sum / (2 * math.Pi)
}

// Reference is the intensity that a beam's edge is a share of.
type Reference int

// The references.
const (
	OfCentre Reference = iota // of the centre-beam intensity (Regulation (EU) 2019/2020 Annex I, IEC/TR 61341)
	OfPeak                    // of the largest intensity
)

// Beam is how wide a beam is.
type Beam struct {
	Widest    float64 // degrees, the largest full angle over the planes: the beam angle of the regulation
	Plane     float64 // degrees: the half-plane C of the widest, to be taken with C + 180°
	Narrowest float64 // degrees
}

// Beam returns the full angle between the directions at which the intensity falls
// to a share of the reference: 0.5 for the beam angle, 0.1 for the field angle. On
// each side it is the outermost such direction, so that a beam with a hollow centre
// counts whole. ok is false where a side never falls so low, where nothing reaches
// the level, or where the edge lies among angles that were assumed.
func (d *Distribution) Beam(share float64, of Reference) (b Beam, ok bool) {
	level := share * d.Centre()
	if of == OfPeak {
		peak, _, _ := d.Peak()
		level = share * peak
	}
	if !(level > 0) {
		return b, false
	}
	b.Narrowest = math.Inf(1)
	reached := false
	for _, c := range d.c {
		right, brightRight := d.edge(c, level)
		left, brightLeft := d.edge(c+180, level)
		if math.IsNaN(right) || math.IsNaN(left) {
			return Beam{}, false
		}
		reached = reached || brightRight || brightLeft
		if full := right + left; full > b.Widest {
			b.Widest, b.Plane = full, c
		}
		b.Narrowest = min(b.Narrowest, right+left)
	}
	return b, reached
}

// edge returns the outermost γ on a half-plane at which the intensity falls
// through a level: 0 where it is below throughout, NaN where there is none or it
// was assumed.
func (d *Distribution) edge(c, level float64) (gamma float64, bright bool) {
	last := len(d.gamma) - 1
	outer := d.At(d.gamma[last], c)
	if outer >= level {
		return math.NaN(), true
	}
	for j := last - 1; j >= 0; j-- {
		inner := d.At(d.gamma[j], c)
		if inner >= level {
			if d.gamma[j] < d.measured.from || d.gamma[j+1] > d.measured.to {
				return math.NaN(), true
			}
			return d.gamma[j] + (d.gamma[j+1]-d.gamma[j])*(inner-level)/(inner-outer), true
		}
		outer = inner
	}
	return 0, false
}

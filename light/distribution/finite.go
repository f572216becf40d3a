package distribution

import (
	"fmt"
	"math"
)

// Shape is a luminous surface that obeys Lambert's law, seen along its axis; a line
// is seen square on.
type Shape int

// The shapes, each with the size that is meant.
const (
	Disc   Shape = iota // its diameter
	Square              // its side
	Line                // its length
)

var shapeNames = [...]string{"disc", "square", "line"}

// String returns the name of the shape.
func (s Shape) String() string {
	if s < 0 || int(s) >= len(shapeNames) {
		return fmt.Sprintf("Shape(%d)", int(s))
	}
	return shapeNames[s]
}

// ParseShape is the inverse of String.
func ParseShape(name string) (Shape, error) {
	for i, s := range shapeNames {
		if s == name {
			return Shape(i), nil
		}
	}
	return 0, fmt.Errorf("distribution: no shape is called %q: it is disc, square or line", name)
}

// Ratio returns E d² over the intensity for a surface of a size at a distance, both
// in the same unit: below 1, because the surface's outer parts are farther away and
// seen aslant. A size of zero is a point. It panics on a distance that is not above
// zero or a size below it.
func Ratio(s Shape, size, distance float64) float64 {
	if !(distance > 0) || !(size >= 0) {
		panic(fmt.Sprintf("distribution: a %v of size %g at a distance of %g", s, size, distance))
	}
	return ratio(s, size/(2*distance))
}

// ratio takes half the size over the distance.
func ratio(s Shape, a float64) float64 {
	switch {
	case a < 1e-6:
		return 1 // the next term is of the order of a²
	case a > 1e12:
		return 0 // at the surface itself; the squares below would overflow far out
	}
	switch s {
	case Square:
		t := a / math.Hypot(1, a)
		return t * math.Atan(t) / (a * a)
	case Line:
		return (a/(1+a*a) + math.Atan(a)) / (2 * a)
	}
	return 1 / (1 + a*a)
}

// LeastDistance returns the distance, in the unit of size, from which E d² is
// within a relative error of the intensity, 0.01 for one per cent. It panics on an
// error outside 0 to 1 or a size below zero. It speaks of Lambertian surfaces: a
// lens or a reflector may need many times as much, to be found by measuring at two
// distances.
func LeastDistance(s Shape, size, relative float64) float64 {
	if !(relative > 0 && relative < 1) || !(size >= 0) {
		panic(fmt.Sprintf("distribution: a %v of size %g within %g", s, size, relative))
	}
	low, high := 0.0, 1.0 // half the size over the distance; the error rises with it
	for 1-ratio(s, high) < relative {
		high *= 2
	}
	for range 60 {
		if middle := (low + high) / 2; 1-ratio(s, middle) < relative {
			low = middle
		} else {
			high = middle
		}
	}
	return size / (2 * low)
}

package quantity

import (
	"fmt"
	"math"
)

// ID numbers a quantity in the order of the register.
type ID int

// Group gathers quantities for reading.
type Group string

// The groups, in reading order.
const (
	Light      Group = "Light and power"
	Colour     Group = "Colour of the light"
	Shape      Group = "Shape of the spectrum"
	CRI        Group = "Colour rendering, CIE 13.3"
	Fidelity   Group = "Colour fidelity and gamut, CIE 224 and TM-30"
	Similarity Group = "Similarity to the reference"
	Eye        Group = "Other responses of the eye"
	Plant      Group = "Photons"
	Shares     Group = "Where the radiation lies"
)

// Groups returns the groups in reading order.
func Groups() []Group {
	return []Group{Light, Colour, Shape, CRI, Fidelity, Similarity, Eye, Plant, Shares}
}

// Definition says what a quantity is.
type Definition struct {
	ID     ID
	Key    string // snake case, stable
	Symbol string // as the standard writes it
	Name   string
	Unit   string // "" for a pure number
	Source string // publication and clause that define it
	Scope  string // when it means anything, in a sentence; "" for always
	Group  Group

	// Decimals is how many decimals are read without an uncertainty; where
	// Significant is set, that many significant figures are read instead.
	Decimals    int
	Significant int
	// Percent shows a fraction as a percentage for reading.
	Percent bool
	// Detail marks what is listed only when asked for by name or with "all".
	Detail bool
}

// Format writes a value for reading, rounded by the register's rule and with a
// true minus sign, without its unit.
func (d *Definition) Format(v float64) string {
	if d.Percent {
		v *= 100
	}
	place := max(d.Decimals, d.Significant-1)
	if d.Significant > 0 && v != 0 {
		place = d.Significant - 1 - int(math.Floor(math.Log10(math.Abs(v))))
	}
	return fixed(v, place)
}

// ReadingUnit is the unit that stands behind what [Definition.Format] writes.
func (d *Definition) ReadingUnit() string {
	if d.Percent {
		return "%"
	}
	return d.Unit
}

// All returns the register. The slice must not be changed.
func All() []Definition { return register() }

// Get returns a definition. It panics for an ID outside the register.
func Get(id ID) *Definition { return &register()[id] }

// ByKey finds a quantity by its key.
func ByKey(key string) (*Definition, error) {
	if id, ok := byKey()[key]; ok {
		return Get(id), nil
	}
	return nil, fmt.Errorf("quantity: there is no quantity %q", key)
}

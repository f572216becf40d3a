package claims

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lampassay/assay/conformity"
	"lampassay/assay/quantity"
)

// EnergyClass is the key of a claim that is a letter.
const EnergyClass = "energy_class"

// Parameter is something a box can state.
type Parameter struct {
	Key, Name string
	Unit      string // "" for a pure number
	// Positive values only: an amount, not an index or a coordinate.
	Positive bool
	// Definition is that of the register, nil for what no assay computes and the
	// tester reads off another instrument.
	Definition *quantity.Definition
}

// beside are parameters that stand on boxes and in no assay. One that enters
// the register of quantities is taken from there.
var beside = []Parameter{
	{Key: EnergyClass, Name: "energy class", Unit: "lm/W"}, // judged by its lower bound
	{Key: "beam_angle", Name: "beam angle", Unit: "°", Positive: true},
	{Key: "peak_intensity", Name: "peak luminous intensity", Unit: "cd", Positive: true},
	{Key: "power_factor", Name: "power factor", Positive: true},
	{Key: "displacement_factor", Name: "displacement factor cos φ1", Positive: true},
	{Key: "standby_power", Name: "standby power", Unit: "W", Positive: true},
	{Key: "networked_standby_power", Name: "networked standby power", Unit: "W", Positive: true},
	{Key: "pst_lm", Name: "flicker metric P_st^LM", Positive: true},
	{Key: "svm", Name: "stroboscopic visibility measure", Positive: true},
}

// Find returns the parameter of a key.
func Find(key string) (Parameter, error) {
	if d, err := quantity.ByKey(key); err == nil {
		unit := d.Unit
		if unit == "1" {
			unit = ""
		}
		positive := unit != "" && d.ID != quantity.DominantWavelength || d.ID == quantity.SPRatio
		return Parameter{Key: key, Name: d.Name, Unit: unit, Positive: positive, Definition: d}, nil
	}
	if i := slices.IndexFunc(beside, func(p Parameter) bool { return p.Key == key }); i >= 0 {
		return beside[i], nil
	}
	return Parameter{}, fmt.Errorf("claims: there is no quantity %q: \"lampassay quantities\" lists those of an assay, and a box may also state %s", key, besideKeys())
}

func besideKeys() string {
	var keys []string
	for _, p := range beside {
		keys = append(keys, p.Key)
	}
	return strings.Join(keys[:len(keys)-1], ", ") + " or " + keys[len(keys)-1]
}

// Claim is one declared value.
type Claim struct {
	Parameter
	Value float64
	Class string // the letter of an energy class, whose lower bound Value then is
}

// NewClaim checks a declared value: its key, number and unit. An empty unit is
// the quantity's own.
func NewClaim(key, value, unit string) (Claim, error) {
	p, err := Find(key)
	if err != nil {
		return Claim{}, err
	}
	c := Claim{Parameter: p}
	value, unit = strings.TrimSpace(value), strings.TrimSpace(unit)
	if key == EnergyClass {
		c.Class = strings.ToUpper(value)
		var known bool
		if c.Value, known = conformity.ClassFloor(c.Class); !known {
			return Claim{}, fmt.Errorf("claims: there is no energy class %q: they are A to G", c.Class)
		}
		if unit != "" {
			return Claim{}, fmt.Errorf("claims: energy_class is a letter and has no unit, not %q", unit)
		}
		return c, nil
	}
	c.Value, err = p.Number(value, unit)
	return c, err
}

// Number reads a value of the parameter with its unit, empty for its own.
func (p *Parameter) Number(value, unit string) (float64, error) {
	v, err := strconv.ParseFloat(strings.Replace(value, "−", "-", 1), 64)
	if err != nil || v-v != 0 {
		return 0, fmt.Errorf("claims: %s: %q is not a number", p.Key, value)
	}
	switch {
	case unit == "" || unit == p.Unit || p.Unit == "" && unit == "1":
	case unit == "%" && p.Definition != nil && p.Definition.Percent:
		v /= 100
	case p.Unit == "":
		return 0, fmt.Errorf("claims: %s is a pure number, and %q was given with it", p.Key, unit)
	default:
		return 0, fmt.Errorf("claims: %s is in %s, not in %q", p.Key, p.Unit, unit)
	}
	if p.Positive && !(v > 0) {
		return 0, fmt.Errorf("claims: %s cannot be %s: it must be above zero", p.Key, strings.TrimSpace(value+" "+p.Unit))
	}
	return v, nil
}

// SplitUnit splits "806 lm" or "806lm" into number and unit.
func SplitUnit(s string) (value, unit string) {
	s = strings.TrimSpace(s)
	i := strings.LastIndexAny(s, "0123456789")
	if i < 0 { // a letter, or nothing that is a number
		return s, ""
	}
	return strings.TrimSpace(s[:i+1]), strings.TrimSpace(s[i+1:])
}

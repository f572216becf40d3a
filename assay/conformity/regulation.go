package conformity

// SchemaName is what the first key of a rule file must say.
const SchemaName = "lampassay-rules/1"

// Regulation is one file of rules. All parts but the head are optional.
type Regulation struct {
	Schema  string `json:"schema"`
	Name    string `json:"name"`    // as it is cited
	Region  string `json:"region"`  // where it holds, such as EU
	Subject string `json:"subject"` // what it is about, in a few words
	// Basis says how the figures in the file were come by: the text itself, or
	// memory.
	Basis string `json:"basis"`
	Period

	Scope           *Scope           `json:"scope,omitempty"`
	EfficacyClasses *EfficacyClasses `json:"efficacy_classes,omitempty"`
	IndexClasses    *IndexClasses    `json:"index_classes,omitempty"`
	LabelEnergy     *LabelEnergy     `json:"label_energy,omitempty"`
	Equivalence     *Equivalence     `json:"equivalence,omitempty"`
	PowerLimit      *PowerLimit      `json:"power_limit,omitempty"`
	Gear            *Gear            `json:"gear,omitempty"`
	Limits          []Limit          `json:"limits,omitempty"`
}

// Scope is what counts as a light source at all.
type Scope struct {
	Clause string `json:"clause"`
	// X bounds the chromaticity x; y lies between Y[0]·x² + Y[1]·x + YOffset[0]
	// and the same with YOffset[1].
	X       [2]float64 `json:"x"`
	Y       [2]float64 `json:"y"`
	YOffset [2]float64 `json:"y_offset"`
	Flux    [2]float64 `json:"flux_lm"`
	RaAbove float64    `json:"ra_above"`
	// AnyColour lists the technologies that count whatever their chromaticity.
	AnyColour []string `json:"any_colour,omitempty"`
}

// ByType is a figure for each type of light source.
type ByType struct {
	NDLSOnMains   float64 `json:"ndls_mls"`
	NDLSOnGear    float64 `json:"ndls_nmls"`
	DirectedMains float64 `json:"dls_mls"`
	DirectedGear  float64 `json:"dls_nmls"`
}

func (b *ByType) of(s LightSource) float64 {
	switch {
	case s.Directional && s.Mains:
		return b.DirectedMains
	case s.Directional:
		return b.DirectedGear
	case s.Mains:
		return b.NDLSOnMains
	}
	return b.NDLSOnGear
}

// EfficacyClasses sorts by efficacy: Φ_use/P_on times a factor, lm/W.
type EfficacyClasses struct {
	Clause  string `json:"clause"`
	Factors ByType `json:"factors"`
	// Classes from the best; a boundary belongs to the better class.
	Classes []struct {
		Class string  `json:"class"`
		From  float64 `json:"from"`
	} `json:"classes"`
}

// IndexClasses sorts by an energy efficiency index: the corrected power over a
// reference power, a·√Φ + b·Φ watts.
type IndexClasses struct {
	Clause      string       `json:"clause"`
	Decimals    int          `json:"decimals"` // the index is rounded to these first
	Reference   []RootLinear `json:"reference"`
	Corrections []Correction `json:"corrections,omitempty"`
	NDLS        []IndexClass `json:"ndls"`
	DLS         []IndexClass `json:"dls"`
}

// RootLinear is a·√Φ + b·Φ for a flux Φ in lm below a bound, the last one
// without.
type RootLinear struct {
	Below  float64 `json:"below_lm,omitempty"`
	Root   float64 `json:"root"`
	Linear float64 `json:"linear"`
}

// Correction multiplies the power of the lamps it is for, by a factor or by the
// ratio of two expressions in the flux.
type Correction struct {
	Technologies []string    `json:"technologies,omitempty"`
	Groups       []string    `json:"groups,omitempty"`
	Mains        *bool       `json:"mains,omitempty"`
	RaFrom       *float64    `json:"ra_from,omitempty"`
	Feature      string      `json:"feature,omitempty"`
	Factor       float64     `json:"factor,omitempty"`
	Over         *RootLinear `json:"over,omitempty"`
	Under        *RootLinear `json:"under,omitempty"`
}

// IndexClass ends at an index, which belongs to it; the last one has no end.
type IndexClass struct {
	Class string  `json:"class"`
	To    float64 `json:"to,omitempty"`
}

// LabelEnergy is the energy that a label states for some hours, in whole kWh.
type LabelEnergy struct {
	Clause        string  `json:"clause"`
	Hours         float64 `json:"hours"`
	PowerDecimals int     `json:"power_decimals,omitempty"` // the power is rounded to these first; 0 for not
	Corrected     bool    `json:"corrected,omitempty"`      // of the corrected power of [IndexClasses]
	Round         string  `json:"round"`                    // up or nearest
}

// Equivalence says which incandescent lamp a non-directional one may be said to
// equal: points of lm and W, straight between them.
type Equivalence struct {
	Clause string       `json:"clause"`
	Points [][2]float64 `json:"points"`
}

// PowerLimit is the largest on-mode power, C·(L + Φ_use/(F·η))·R watts.
type PowerLimit struct {
	Clause string     `json:"clause"`
	Rows   []PowerRow `json:"rows"` // the first that fits counts
	Basic  ByType     `json:"basic"`
	// Bonuses are added to the basic C.
	Bonuses           []Bonus   `json:"bonuses,omitempty"`
	DirectionalFactor float64   `json:"directional_factor"` // F of a directional lamp; 1 of another
	Rendering         Rendering `json:"rendering"`
}

// PowerRow is the threshold efficacy η in lm/W and the end loss L in W of a
// technology, "*" for any other.
type PowerRow struct {
	Technology string `json:"technology"`
	Period
	Flux      *[2]float64 `json:"flux_lm,omitempty"` // both ends included
	Power     *[2]float64 `json:"power_w,omitempty"` // above the first, up to the second
	Efficacy  float64     `json:"efficacy"`
	EndLoss   float64     `json:"end_loss"`
	Connected float64     `json:"connected_loss,omitempty"` // end loss of a connected one, where it differs
}

// Bonus is added to C where all its conditions hold.
type Bonus struct {
	Technologies []string `json:"technologies,omitempty"`
	Groups       []string `json:"groups,omitempty"`
	Directional  *bool    `json:"directional,omitempty"`
	CCTAbove     *float64 `json:"cct_above,omitempty"`
	RaAbove      *float64 `json:"ra_above,omitempty"`
	PowerAbove   *float64 `json:"power_above,omitempty"`
	Feature      string   `json:"feature,omitempty"`
	Add          float64  `json:"add"`
}

// Rendering is R: Low for an Ra up to LowRa, else (Ra + Offset)/Divisor, rounded.
type Rendering struct {
	LowRa    float64 `json:"low_ra"`
	Low      float64 `json:"low"`
	Offset   float64 `json:"offset"`
	Divisor  float64 `json:"divisor"`
	Decimals int     `json:"decimals"`
}

// Gear is the least efficiency of separate control gear at full load.
type Gear struct {
	Clause string    `json:"clause"`
	Rows   []GearRow `json:"rows"` // the first that fits counts
}

// GearRow is a figure or the name of a formula in the power P at the lamp:
// "fluorescent" is P/(2√(P/36) + 38/36·P + 1), "led" P^0.81/(1.09·P^0.81 + 2.10).
type GearRow struct {
	Group   string      `json:"group"`
	Power   *[2]float64 `json:"power_w,omitempty"` // above the first, up to the second
	Least   float64     `json:"least,omitempty"`
	Formula string      `json:"formula,omitempty"`
}

// Limit bounds one figure of the lamps it is for.
type Limit struct {
	Figure Figure `json:"figure"`
	Clause string `json:"clause"`
	Period
	Technologies []string    `json:"technologies,omitempty"`
	Groups       []string    `json:"groups,omitempty"`
	Mains        *bool       `json:"mains,omitempty"`
	Power        *[2]float64 `json:"power_w,omitempty"` // above the first, up to the second
	PowerAbove   *float64    `json:"power_above,omitempty"`
	Min          *float64    `json:"min,omitempty"`
	Max          *float64    `json:"max,omitempty"`
	Note         string      `json:"note,omitempty"`
	// Optional marks a figure that many light sources do not have at all: where
	// it was not measured nobody need be told.
	Optional bool `json:"optional,omitempty"`
}

package validation

import (
	"fmt"
	"math"

	"lampassay/assay"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// Basis says what an expected value rests on.
type Basis string

// The kinds of witness, strongest first.
const (
	Defined     Basis = "defined"     // follows from a definition or exact arithmetic of a regulation
	Published   Basis = "published"   // a figure in the publication
	Independent Basis = "independent" // computed from published figures by another method and program
	Memory      Basis = "memory"      // a published figure stated from memory
)

// Check is one comparison.
type Check struct {
	Topic     string
	Name      string
	Want, Got float64
	Tolerance float64 // largest |Got − Want| that passes, in Unit
	Unit      string
	Basis     Basis
	Source    string
}

// Pass reports whether the figure agrees within the tolerance. A figure that is
// not a number never does.
func (c *Check) Pass() bool { return math.Abs(c.Got-c.Want) <= c.Tolerance }

// Run computes every check, topic by topic, in the order of the register.
func Run() []Check {
	l := &list{evaluator: assay.NewEvaluator()}
	for _, topic := range []struct {
		name string
		add  func(*list)
	}{
		{"Tables", tables},
		{"Chromaticity", chromaticity},
		{"CCT and Duv", cctAndDuv},
		{"Colour rendering index", renderingIndex},
		{"Colour fidelity and gamut", fidelity},
		{"Spectral similarity", similarity},
		{"Colour difference", colourDifference},
		{"Luminous efficacy", efficacy},
		{"Light of one line", lineSource},
		{"Largest efficacy under conditions", largestEfficacy},
		{"α-opic quantities", alphaOpic},
		{"Mesopic vision", mesopic},
		{"Energy class", energyClass},
		{"Rules of law", rules},
		{"Ladder", ladders},
		{"Cost", costs},
		{"Seen under a light", relit},
		{"Conformity with a tolerance", conformityProbability},
		{"Tolerances of the regulations", tolerances},
		{"Propagation of uncertainty", endGauge},
		{"Uncertainty by draws", monteCarlo},
		{"Lamps on one rig", ratios},
		{"Light over directions", lightOverDirections},
		{"Lamps that are no points", finiteSources},
		{"Sphere against a reference lamp", substitution},
		{"Lines for the wavelength axis", calibrationLines},
		{"Bandpass correction", bandpass},
		{"Sampling of lines and tilt of a reference", picking},
		{"Stabilisation and run-up", stabilisation},
		{"Kind of lamp", families},
		{"Elements of simulated lamps", elementsFound},
	} {
		l.topic = topic.name
		topic.add(l)
	}
	return l.checks
}

// list gathers checks of one topic after another.
type list struct {
	topic     string
	checks    []Check
	evaluator *assay.Evaluator
}

// add appends one check.
func (l *list) add(name string, want, got, tolerance float64, unit string, basis Basis, source string) {
	l.checks = append(l.checks, Check{l.topic, name, want, got, tolerance, unit, basis, source})
}

// illuminant evaluates a published illuminant, summed as published over 380 to
// 780 nm. What cannot be had becomes NaN, which no check passes.
func (l *list) illuminant(name string) *assay.Result {
	p, err := projectIlluminant(name, spectrum.Tabulated)
	if err != nil {
		p = new(spectrum.Projected)
	}
	r := new(assay.Result)
	l.evaluator.Evaluate(p, new(assay.Given), r)
	return r
}

// projectIlluminant projects the 380–780 nm part of an illuminant.
func projectIlluminant(name string, kind spectrum.Projection) (*spectrum.Projected, error) {
	il, err := standards.IlluminantByName(name)
	if err != nil {
		return nil, fmt.Errorf("validation: %w", err)
	}
	var nm, v []float64
	for i, l := range il.Spectrum.Axis() {
		if l >= 380 && l <= 780 {
			nm, v = append(nm, l), append(v, il.Spectrum.Values()[i])
		}
	}
	s, err := spectrum.New(spectrum.Relative, nm, v)
	if err != nil {
		return nil, fmt.Errorf("validation: %w", err)
	}
	return s.Project(kind)
}

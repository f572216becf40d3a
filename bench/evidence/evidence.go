// Package evidence says what an assay of a sitting is made from: which of its readings,
// corrected by which instrument's own file, and what else is known of the bench.
//
// [Gather] chooses by what a person asks for, and names each choice by its checksum.
// [Take] reads back what an assay names, so that it can be computed again and held
// against what was kept. What is changed afterwards, such as a reading that is set aside, changes
// nothing about it.
package evidence

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"lampassay/assay"
	"lampassay/assay/uncertainty"
	"lampassay/bench/instrument"
	"lampassay/bench/notebook"
	"lampassay/light/emission"
	"lampassay/light/spectrum"
)

// What the inputs of an assay are, beside measured values, which go by their keys.
const (
	Spectrum       = "spectrum"
	Dark           = "dark"
	DarkFile       = "file of the dark"
	InstrumentFile = "instrument file"
	SittingFile    = "sitting file"
)

// Keys of the values that go with a spectrum.
const (
	Flux      = "luminous_flux"
	Power     = "power"
	PowerLamp = "power_lamp"
)

// AtLamp is where [notebook.SetUp] says that watts are read at the lamp itself.
const AtLamp = "lamp terminals"

// Terms are what the inputs of an assay leave open. They are kept among its methods.
type Terms struct {
	Projection string  // how samples are read: "sampled", "tabulated", "" by their wavelengths
	Class      string  // of the spectrometer
	Route      string  // to the luminous flux
	Meter      string  // of the power
	PowerAt    string  // where watts were read, as [notebook.SetUp] has it
	ExposureMs float64 // of recordings that do not tell it; 0 not known
	DistanceM  float64 // from the lamp to the light meter; 0 not known
	// Late is what of the sitting's instruments and reference lamps was past its time on
	// the day of the recording, a clause a line. [Gather] finds it, so that it says what
	// was known when the assay was made.
	Late string
	// Passed is what of the measured values was passed over and why, a clause a line.
	Passed string
}

// Names of the terms among the methods of an assay.
const (
	MethodProjection = "projection"
	MethodClass      = "uncertainty class"
	MethodRoute      = "route to the flux"
	MethodMeter      = "power meter"
	MethodPowerAt    = "power read at"
	MethodExposure   = "exposure in ms"
	MethodDistance   = "distance in m"
	MethodLate       = "past its time"
	MethodPassed     = "passed over"
)

// words are the terms that are words, with their names.
func (t *Terms) words() map[string]*string {
	return map[string]*string{
		MethodProjection: &t.Projection, MethodClass: &t.Class, MethodRoute: &t.Route, MethodMeter: &t.Meter, MethodPowerAt: &t.PowerAt, MethodLate: &t.Late, MethodPassed: &t.Passed,
	}
}

// numbers are those that are numbers.
func (t *Terms) numbers() map[string]*float64 {
	return map[string]*float64{MethodExposure: &t.ExposureMs, MethodDistance: &t.DistanceM}
}

// Methods writes the terms as an assay keeps them.
func (t Terms) Methods() map[string]string {
	m := map[string]string{}
	for name, v := range t.words() {
		if *v != "" {
			m[name] = *v
		}
	}
	for name, v := range t.numbers() {
		if *v > 0 {
			m[name] = strconv.FormatFloat(*v, 'g', -1, 64)
		}
	}
	return m
}

// TermsOf reads the terms back.
func TermsOf(methods map[string]string) (t Terms, err error) {
	for name, v := range t.words() {
		*v = methods[name]
	}
	for name, v := range t.numbers() {
		if text := methods[name]; text != "" {
			if *v, err = strconv.ParseFloat(text, 64); err != nil {
				return t, notebook.Errorf(notebook.Damaged, "the assay says %q for its %s", text, name)
			}
		}
	}
	return t, nil
}

// Evidence is what an assay is made from, read and ready.
type Evidence struct {
	Inputs []notebook.Input
	Files  []notebook.Attachment // those among the inputs
	Terms  Terms

	Spectrum   *spectrum.Spectrum
	Projection spectrum.Projection
	// Given is what was measured beside the spectrum, the sitting file's figures
	// included.
	Given assay.Given
	// Readings are the numbers of the readings that the spectrum is of.
	Readings []int64
	// Repeats are how these depart from their mean; nil where there is one.
	Repeats *uncertainty.Repeats
	// Applied is how the spectrum came from raw counts, of several the first; nil where
	// it was recorded as it is.
	Applied *instrument.Applied

	sitting    notebook.ID
	clipped    []int64        // readings after the first in which pixels are clipped
	day        instrument.Day // of the recording
	beside     assay.Given    // as measured in the sitting
	conditions *uncertainty.Conditions
}

// Named says in words what the spectrum is of.
func (e *Evidence) Named() string {
	n := len(e.Readings)
	if n == 1 {
		return fmt.Sprintf("reading %d of sitting %d", e.Readings[0], e.sitting)
	}
	return fmt.Sprintf("mean of %d spectra, readings %d to %d of sitting %d", n, e.Readings[0], e.Readings[n-1], e.sitting)
}

// Sum is the checksum of the last reading of the spectrum, which holds all before it.
func (e *Evidence) Sum() notebook.Sum {
	for _, in := range slices.Backward(e.Inputs) {
		if in.What == Spectrum {
			return in.SHA256
		}
	}
	return ""
}

// Sentences say how the spectrum came about.
func (e *Evidence) Sentences() (all []string) {
	if e.Repeats != nil {
		all = append(all, fmt.Sprintf("The mean of %d spectra, readings %s.", len(e.Readings), spans(e.Inputs)))
	}
	if e.Applied != nil {
		all = append(all, fmt.Sprintf("Raw counts, corrected by the file of %s.", e.Applied.Instrument.Name))
		all = append(all, e.Applied.Sentences()...)
	}
	return all
}

// spans lists the readings of the spectrum.
func spans(inputs []notebook.Input) (text string) {
	for _, in := range inputs {
		if in.What != Spectrum {
			continue
		}
		if text != "" {
			text += ", "
		}
		text += strconv.FormatInt(in.From, 10)
		if in.To > in.From {
			text += fmt.Sprintf("–%d", in.To)
		}
	}
	return text
}

// Warnings are which measured values were passed over, what the instrument has to say,
// as of the day of the recording, and what else on the bench was past its time then.
func (e *Evidence) Warnings() (all []string) {
	for _, lines := range []string{e.Terms.Passed, e.Terms.Late} {
		if lines != "" {
			all = append(all, strings.Split(lines, "\n")...)
		}
	}
	if e.Applied == nil {
		return all
	}
	all = append(all, e.Applied.Warnings(e.day)...)
	if n := len(e.clipped); n > 0 {
		all = append(all, fmt.Sprintf("of the spectra averaged %d more have clipped pixels, reading %d first: light there is a lower bound", n, e.clipped[0]))
	}
	return all
}

// Case puts the evidence into the form in which [uncertainty.Conditions.Assess] takes
// it, with the conditions: those of the sitting file where there is one, else the
// classes of the terms and the kind of lamp that the spectrum shows. Of a corrected
// spectrum the instrument's own calibrations stand in place of the class.
func (e *Evidence) Case(r *assay.Result) (*uncertainty.Conditions, *uncertainty.Case, error) {
	k := &uncertainty.Case{Spectrum: e.Spectrum, Kind: e.Projection, Given: e.beside, Result: r, Repeats: e.Repeats}
	c := &uncertainty.Conditions{Defaults: uncertainty.Usual()}
	if e.conditions != nil {
		own := *e.conditions
		c = &own
	} else {
		d := &c.Defaults
		d.Spectrometer, d.Flux, d.Power = cmp.Or(e.Terms.Class, d.Spectrometer), cmp.Or(e.Terms.Route, d.Flux), cmp.Or(e.Terms.Meter, d.Power)
		d.Lamp = lampOf(r.Emission)
		c.Inputs = e.Terms.inputs()
	}
	if e.Applied != nil {
		if err := e.Applied.State(c); err != nil {
			return nil, nil, invalid(err)
		}
	} else if a := r.Emission; e.conditions == nil && a != nil && a.BandwidthMeasured {
		k.Bandwidth = a.Bandwidth
	}
	return c, k, nil
}

// tape is how well in m a distance is known that was measured on a bench. An own
// estimate: a centimetre, as in the routes' classes, where it stands for two metres.
const tape = 0.01

// inputs are what the terms state in place of their classes.
func (t *Terms) inputs() []uncertainty.Entry {
	if t.DistanceM <= 0 || t.Route != "angles" && t.Route != "direction" {
		return nil
	}
	d, u := t.DistanceM, tape
	return []uncertainty.Entry{{Name: uncertainty.Distance, Unit: "m", Value: &d, U: &u, Source: uncertainty.OwnEstimate}}
}

// lampOf is the type of lamp that a spectrum shows, for how it answers to its
// surroundings.
func lampOf(a *emission.Result) string {
	if a == nil {
		return uncertainty.Unknown.String()
	}
	return uncertainty.LampOfFamily(a.Family.Key).String()
}

// Remark is what a record says of how the spectrum came about, under a key.
type Remark struct {
	Key   string
	Value any // fit for JSON
}

// Record lists what belongs beside the figures of an assay: of which spectra it is the
// mean, and what was done to raw counts.
func (e *Evidence) Record() (all []Remark) {
	if e.Repeats != nil {
		all = append(all, Remark{"mean_of", struct {
			Spectra  int     `json:"spectra"`
			Readings []int64 `json:"readings"`
		}{len(e.Readings), e.Readings}})
	}
	if e.Applied != nil {
		all = append(all, Remark{"corrections", instrument.Records(e.Applied.Steps)})
	}
	return all
}

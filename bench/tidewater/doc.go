// Package tidewater holds the lamps of the Tidewater Model Railway Club: eight
// invented lamps, one of each technology that the club lights its layout room,
// its workshop and its yard with, as an instrument would have exported them.
//
// They are for demonstrations and tests. A lamp's light is a model: atomic lines
// at their published wavelengths (package standards), phosphor bands and
// continua of about the right place and width, and strengths chosen so that
// colour and efficacy come out as such a lamp's do. [Truth] is that model, finely
// sampled and scaled to the lamp's flux. [Lamp.Write] looks at it through an
// instrument: a Gaussian bandpass, the instrument's own wavelengths, a little
// noise that leaves some samples negative, and a text file in a shape of its
// own. Every file is in another shape, and the same bytes each time.
//
// Nothing here was measured. No maker's lamp stood model.
package tidewater

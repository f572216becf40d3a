package sheet

import (
	"errors"

	"lampassay/assay/quantity"
	"lampassay/publish/figure"
)

// section is a part of the pictures under one side head.
type section struct {
	ID, Head string
	Pictures []picture
}

// gallery lays out pictures one after another and keeps the first error.
type gallery struct {
	pictures []picture
	err      error
}

// hang takes what a preparation returned; a nil picture is none.
func (g *gallery) hang(width int, p *figure.Picture, err error) {
	if g.err == nil {
		g.err = err
	}
	if g.err != nil || p == nil {
		return
	}
	out, err := laid(p, width)
	g.err = err
	g.pictures = append(g.pictures, out)
}

func (g *gallery) miss(title, why string) {
	g.pictures = append(g.pictures, absent(title, why))
}

// sectionsOf arranges the pictures of one sheet, each one there or with the
// reason it is not.
func sectionsOf(l *Lamp) ([]section, error) {
	r := l.Result
	var light, colours gallery

	curve, err := spectralPower(l)
	light.hang(full, curve, err)
	if _, ok := r.Value(quantity.UPrime); ok {
		point, err := chromaticity(l)
		light.hang(half, point, err)
	} else {
		light.miss("No chromaticity", sentence(r.Why(quantity.UPrime)))
	}

	const noWatts = "No picture of where the watts go"
	if r.Watts.Known {
		bar, whyNot, err := whereWattsGo(l)
		light.hang(half, bar, err)
		if whyNot != "" {
			light.miss(noWatts, sentence(whyNot))
		}
	} else {
		light.miss(noWatts, sentence(r.Why(quantity.RadiantEfficiency)))
	}
	light.hangLadder(l)

	if _, ok := r.Value(quantity.Ra); ok {
		bars, err := renderingIndices(l)
		colours.hang(full, bars, err)
	} else {
		colours.miss("No colour rendering indices", sentence(r.Why(quantity.Ra)))
	}
	if _, ok := r.Value(quantity.Rf); ok {
		vectors, err := colourVector(l)
		colours.hang(half, vectors, err)
		shifts, err := localChroma(l)
		colours.hang(half, shifts, err)
		pairs, err := swatches(l)
		colours.hang(dense, pairs, err)
	} else {
		colours.miss("No colour vector graphic", sentence(r.Why(quantity.Rf)))
	}
	samples, err := relit(l)
	colours.hang(full, samples, err)

	parts, err := budget(r)
	var doubt gallery
	doubt.hang(full, parts, err)
	box, err := boxClaims(l)
	var said gallery
	said.hang(full, box, err)
	if err := errors.Join(light.err, colours.err, doubt.err, said.err); err != nil {
		return nil, err
	}
	sections := []section{
		{"light", "The light", light.pictures},
		{"colours", "Colours under it", colours.pictures},
	}
	if len(said.pictures) > 0 {
		sections = append(sections, section{"box", "What the box says", said.pictures})
	}
	if len(doubt.pictures) > 0 {
		sections = append(sections, section{"sure", "How sure this is", doubt.pictures})
	}
	return sections, nil
}

// comparisonPictures arranges what sets lamps side by side.
func comparisonPictures(lamps []Lamp) ([]picture, error) {
	var g gallery
	dots, err := efficacies(lamps)
	g.hang(full, dots, err)
	shared, tall, err := multiples(lamps)
	g.hang(full, shared, err)
	g.hang(full, tall, nil)
	return g.pictures, g.err
}

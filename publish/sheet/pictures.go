package sheet

import (
	"slices"

	"lampassay/publish/figure"
)

// Pictures returns the pictures of a lamp's sheet by themselves, for whoever
// publishes them elsewhere, in the order of the page. What the sheet leaves out
// with a reason is not among them.
func Pictures(l Lamp) ([]*figure.Picture, error) {
	if err := l.check(); err != nil {
		return nil, err
	}
	sections, err := sectionsOf(&l)
	if err != nil {
		return nil, err
	}
	makes, err := newEmission(&l)
	if err != nil {
		return nil, err
	}
	if makes != nil { // it stands after the first section
		sections = slices.Insert(sections, 1, section{Pictures: makes.Pictures})
	}
	var all []*figure.Picture
	for _, s := range sections {
		for _, p := range s.Pictures {
			if p.source != nil {
				all = append(all, p.source)
			}
		}
	}
	return all, nil
}

package sheet

import (
	"fmt"
	"html/template"
	"strings"

	"lampassay/light/colorimetry"
	"lampassay/publish/figure"
)

// Fragment is a lamp's sheet without its page, for a page of another that brings
// [Styles] along: what stands within the main element. Mark is the lamp's own
// colour, Light and Dark the same as it is legible on either ground.
type Fragment struct {
	HTML              template.HTML
	Mark, Light, Dark string
}

// NewFragment makes the fragment of a lamp. It holds no style and no script.
func NewFragment(l Lamp, o Options) (*Fragment, error) {
	if err := l.check(); err != nil {
		return nil, err
	}
	v, err := newSheet(&l, o)
	if err != nil {
		return nil, err
	}
	var b strings.Builder
	if err := render(&b, "sheet", v); err != nil {
		return nil, err
	}
	return &Fragment{HTML: template.HTML(b.String()), Mark: v.Own, Light: v.MarkLight, Dark: v.MarkDark}, nil
}

// Styles returns the style sheet of the pages, colours of the pictures included.
// face gives the address that a face is loaded from.
func Styles(face func(figure.Face) string) string {
	var b strings.Builder
	for _, f := range figure.Faces() {
		b.WriteString(f.CSS(face(f)) + "\n")
	}
	b.WriteString(":root {")
	for _, r := range figure.Roles() {
		fmt.Fprintf(&b, " %s: light-dark(%s, %s);", r.Property, colorimetry.Hex(r.Light), colorimetry.Hex(r.Dark))
	}
	b.WriteString(" }\n" + pageStyle)
	return b.String()
}

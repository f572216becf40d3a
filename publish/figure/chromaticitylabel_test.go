package figure

import (
	"fmt"
	"testing"

	"gonum.org/v1/plot/vg"
)

// crowd are lights as they lie in a comparison: close together, some in one place.
func crowd(n int, name string) (c Chromaticity) {
	for i := range n {
		kelvin := 2700 + 60*float64(i%4)
		at := onIsotherm(kelvin, 0.0008*float64(i%3))
		c.Points = append(c.Points, ChromaticityPoint{Name: fmt.Sprintf(name, i+1), U: at.u, V: at.v, CCT: kelvin, Duv: 0.0008 * float64(i%3)})
	}
	return c
}

func TestLabelsOfLightsStandFreeOfOneAnother(t *testing.T) {
	for _, name := range []string{"Lamp %d", "Harbour panel number %d", "A lamp of the goods shed with a name that is much too long for a picture, no. %d"} {
		for _, width := range []vg.Length{Wide, Narrow} {
			for _, n := range []int{1, 2, 3, 5, 8} {
				c := crowd(n, name)
				f := c.frame(rectangle(0, 0, width, c.height(width)))
				inset := c.corner(f)
				labels, set := c.setLabels(f, []vg.Rectangle{inset}, nil)
				var boxes []vg.Rectangle
				for i, s := range set {
					if s == nil {
						t.Errorf("%d × %q on %g px: light %d has no label", n, name, width, i+1)
						continue
					}
					if overlaps(s.box, append(boxes, inset)) {
						t.Errorf("%d × %q on %g px: the label of light %d lies over another or over the locator", n, name, width, i+1)
					}
					boxes = append(boxes, s.box)
					if s.box.Min.X < f.box.Min.X || s.box.Max.X > f.box.Max.X || s.box.Min.Y < f.box.Min.Y || s.box.Max.Y > f.box.Max.Y {
						t.Errorf("%d × %q on %g px: the label of light %d leaves the frame", n, name, width, i+1)
					}
					for _, l := range labels {
						if inside(l.at, s.box) {
							t.Errorf("%d × %q on %g px: the label of light %d lies over a light", n, name, width, i+1)
						}
					}
				}
				for i, s := range set {
					if s == nil {
						continue
					}
					for k, r := range boxes {
						for _, q := range along(s.leader) {
							if k != i && inside(q, r) {
								t.Errorf("%d × %q on %g px: the leader of light %d runs through the label of light %d", n, name, width, i+1, k+1)
							}
						}
					}
				}
			}
		}
	}
}

package figure

import (
	"fmt"
	"image/color"
	"strconv"
)

// Theme says where a picture goes.
type Theme uint8

const (
	// Page is for SVG inline in a page: colours are CSS custom properties, there
	// is no ground, title or note. A PNG cannot follow a page and takes Page as
	// Light.
	Page Theme = iota
	// Light and Dark stand alone, with ground, title and note.
	Light
	Dark
)

// Role is a use of colour in a picture: a CSS custom property and its values.
type Role struct {
	Property    string // with its two dashes
	Light, Dark color.NRGBA
}

// Roles returns every colour that a picture takes from its page.
func Roles() []Role { return append([]Role(nil), roles[:]...) }

// ink is a role at an opacity. It is the color.Color that a drawing uses; the
// canvas turns it into what its theme asks for.
type ink struct {
	role  uint8
	alpha float64
}

const (
	roleInk = iota
	roleMuted
	roleGrid
	rolePanel
	roleAccent
	roleSeries // and four more
)

// The series are of the colour-blind-safe set of M. Okabe and K. Ito, "Color
// Universal Design" (2008): on a light ground the ones that reach 3 : 1 on white,
// on a dark one their brighter fellows.
var roles = [...]Role{
	roleInk:        {"--ink", rgb(0x1a1d21), rgb(0xe8eaed)},
	roleMuted:      {"--muted", rgb(0x59616a), rgb(0xa4acb4)},
	roleGrid:       {"--grid", rgb(0xe0e3e7), rgb(0x2e343a)},
	rolePanel:      {"--panel", rgb(0xffffff), rgb(0x14171a)},
	roleAccent:     {"--accent", rgb(0x0072b2), rgb(0x56b4e9)},
	roleSeries:     {"--series-1", rgb(0x0072b2), rgb(0x56b4e9)},
	roleSeries + 1: {"--series-2", rgb(0xd55e00), rgb(0xe69f00)},
	roleSeries + 2: {"--series-3", rgb(0x009e73), rgb(0x009e73)},
	roleSeries + 3: {"--series-4", rgb(0xcc79a7), rgb(0xcc79a7)},
	roleSeries + 4: {"--series-5", rgb(0x1a1d21), rgb(0xf0e442)},
}

var (
	inkFull  = ink{roleInk, 1}
	inkMuted = ink{roleMuted, 1}
	inkGrid  = ink{roleGrid, 1}
	inkPanel = ink{rolePanel, 1}
	inkWash  = ink{roleAccent, 0.14} // the area under a curve, and nothing that must be seen: a page's accent may be pale
	inkTint  = ink{roleSeries, 1}
)

// RGBA returns the light value, so that an ink is a color.Color.
func (i ink) RGBA() (r, g, b, a uint32) { return i.in(Light).RGBA() }

// in returns the colour of a stand-alone theme.
func (i ink) in(t Theme) color.NRGBA {
	c := roles[i.role].Light
	if t == Dark {
		c = roles[i.role].Dark
	}
	c.A = uint8(i.alpha*255 + 0.5)
	return c
}

// css returns a paint for SVG and its opacity.
func css(c color.Color, t Theme) (paint string, alpha float64) {
	i, isRole := c.(ink)
	if !isRole {
		n := color.NRGBAModel.Convert(c).(color.NRGBA)
		return hex(n), float64(n.A) / 255
	}
	if t == Page {
		r := roles[i.role]
		return "var(" + r.Property + "," + hex(r.Light) + ")", i.alpha
	}
	return hex(i.in(t)), i.alpha
}

func hex(c color.NRGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{uint8(hex >> 16), uint8(hex >> 8), uint8(hex), 255}
}

// decimal writes a coordinate: two places are a hundredth of a pixel.
func decimal(v float64) string {
	s := strconv.FormatFloat(v, 'f', 2, 64)
	for s[len(s)-1] == '0' {
		s = s[:len(s)-1]
	}
	if s[len(s)-1] == '.' {
		s = s[:len(s)-1]
	}
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}

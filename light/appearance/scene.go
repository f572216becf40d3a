package appearance

import (
	"context"
	"errors"
	"image"
	"image/color"
	"image/draw"
	"math"
	"runtime"
	"sync"

	"lampassay/light/colorimetry"
	"lampassay/light/spectrum"
)

// Options say how the eye meets the light.
type Options struct {
	// Adapted shows what an eye sees that has become wholly used to the light;
	// else the eye is used to the screen's white.
	Adapted bool
}

// ErrDark is returned where a light has no luminance to see by.
var ErrDark = errors.New("appearance: the light has no luminance to see by")

// Scene is a light and an eye, prepared. It may be shared.
type Scene struct {
	// Of each node the colour on the screen, relative to D65 with Y = 1, made for
	// the first colour that asks. All that lies between a reflectance and here is
	// linear.
	faces  func() *grid[colorimetry.XYZ]
	xyz    [3]lattice // of a reflectance to X, Y, Z under the light
	screen func(colorimetry.XYZ) colorimetry.XYZ
}

// New prepares a scene under a light. The first colour that any scene is asked
// for solves the nodes, which takes a good part of a second; surfaces do not need
// them.
func New(p *spectrum.Projected, o Options) (*Scene, error) {
	s := &Scene{xyz: weigh(p)}
	var flat lattice
	for i := range flat {
		flat[i] = 1
	}
	white := s.under(&flat)
	if !(white.Y > 0) || math.IsInf(white.Y, 0) {
		return nil, ErrDark
	}
	s.screen = toScreen(white, o.Adapted)
	s.faces = sync.OnceValue(s.light)
	return s, nil
}

// light shows every node under the light.
func (s *Scene) light() *grid[colorimetry.XYZ] {
	n, faces := prepared(), new(grid[colorimetry.XYZ])
	for f := range n.grid {
		for l := range n.grid[f] {
			for i := range n.grid[f][l] {
				faces[f][l][i] = s.screen(s.under(&n.grid[f][l][i]))
			}
		}
	}
	return faces
}

func (s *Scene) under(rho *lattice) colorimetry.XYZ {
	return colorimetry.XYZ{X: s.xyz[0].of(rho), Y: s.xyz[1].of(rho), Z: s.xyz[2].of(rho)}
}

// toScreen returns what takes a colour under a light with that white to the
// screen, relative to D65 with Y = 1.
func toScreen(white colorimetry.XYZ, adapted bool) func(colorimetry.XYZ) colorimetry.XYZ {
	if adapted {
		return func(c colorimetry.XYZ) colorimetry.XYZ { return colorimetry.Adapt(c, white, colorimetry.D65()) }
	}
	// As bright as the screen can show the white without changing its colour,
	// but for the purity that it cannot show.
	r, g, b := colorimetry.SRGBFromXYZ(white.Scale(1 / white.Y))
	keep := 1.0
	if low := min(r, g, b); low < 0 {
		keep = 1 / (1 - low)
	}
	k := 1 / (white.Y * (1 + keep*(max(r, g, b)-1)))
	return func(c colorimetry.XYZ) colorimetry.XYZ { return c.Scale(k) }
}

// XYZ returns the colour on the screen, relative to D65 with Y = 1 and not
// confined to what a screen can show, of a surface that has the given linear sRGB
// under D65, each of 0 to 1.
func (s *Scene) XYZ(r, g, b float64) colorimetry.XYZ {
	c := [3]float64{r, g, b}
	full := 0
	for k := range c {
		if c[k] > c[full] {
			full = k
		}
	}
	top := c[full]
	if !(top > 0) {
		return colorimetry.XYZ{}
	}
	first, second := face(full)
	i, f := cell(c[first] / top)
	k, g2 := cell(c[second] / top)
	// Below the first level a surface is a darker one of the first.
	dim := min(1, top/levels[0])
	l, h := level(max(top, levels[0]))
	faces := s.faces()
	var sum colorimetry.XYZ
	for _, at := range [...]struct {
		level  int
		weight float64
	}{{l, dim * (1 - h)}, {l + 1, dim * h}} {
		n := faces[full][at.level][i*side+k:]
		add(&sum, &n[0], at.weight*(1-f)*(1-g2))
		add(&sum, &n[1], at.weight*(1-f)*g2)
		add(&sum, &n[side], at.weight*f*(1-g2))
		add(&sum, &n[side+1], at.weight*f*g2)
	}
	return sum
}

func add(sum, c *colorimetry.XYZ, w float64) {
	sum.X += w * c.X
	sum.Y += w * c.Y
	sum.Z += w * c.Z
}

// linear is the inverse of the sRGB transfer function (IEC 61966-2-1) for eight
// bits.
var linear = func() (t [256]float64) {
	for i := range t {
		v := float64(i) / 255
		if v <= 0.04045 {
			t[i] = v / 12.92
		} else {
			t[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return t
}()

// Colour returns what becomes of a screen colour of daylight. Opacity stays.
func (s *Scene) Colour(c color.NRGBA) color.NRGBA {
	out := colorimetry.Swatch(s.XYZ(linear[c.R], linear[c.G], linear[c.B]))
	out.A = c.A
	return out
}

// Surface returns the screen colour of a measured surface: its reflectance at
// first, first + step, … nm, straight between and level beyond. It panics on fewer
// than two values or a step that is not above zero.
func (s *Scene) Surface(first, step int, reflectance []float64) color.NRGBA {
	rho := surface(first, step, reflectance)
	return colorimetry.Swatch(s.screen(s.under(&rho)))
}

func surface(first, step int, reflectance []float64) (rho lattice) {
	if len(reflectance) < 2 || step <= 0 {
		panic("appearance: a surface needs two reflectances or more, and a step above zero")
	}
	for i := range rho {
		x := float64(latticeFirst+i*latticeStep-first) / float64(step)
		k := max(0, min(int(math.Floor(x)), len(reflectance)-2))
		f := max(0, min(x-float64(k), 1))
		rho[i] = reflectance[k]*(1-f) + reflectance[k+1]*f
	}
	return rho
}

// Image re-lights a picture, taken as sRGB. The error is the context's.
func (s *Scene) Image(ctx context.Context, src image.Image) (*image.NRGBA, error) {
	b := src.Bounds()
	out := image.NewNRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(out, out.Rect, src, b.Min, draw.Src)
	rows := make(chan int)
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for y := range rows {
				line := out.Pix[y*out.Stride:][:4*b.Dx()]
				for x := 0; x < len(line); x += 4 {
					c := s.Colour(color.NRGBA{line[x], line[x+1], line[x+2], line[x+3]})
					line[x], line[x+1], line[x+2] = c.R, c.G, c.B
				}
			}
		})
	}
	for y := 0; y < b.Dy() && ctx.Err() == nil; y++ {
		rows <- y
	}
	close(rows)
	workers.Wait()
	return out, ctx.Err()
}

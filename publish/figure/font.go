package figure

import (
	"embed"
	"fmt"
	"sync"

	xfont "golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

//go:embed fonts/*.ttf fonts/*.woff2 fonts/OFL.txt
var fontFiles embed.FS

// The families of the two faces, as CSS names them.
const (
	TextFamily    = "Lampassay Text"
	NumbersFamily = "Lampassay Numbers"
)

// Face is one embedded font.
type Face struct {
	Name    string // file stem, e.g. "text-regular"
	Family  string // TextFamily or NumbersFamily
	Weight  int    // as in CSS: 400 or 600
	TTF     []byte // for drawing
	WOFF2   []byte // for pages
	Licence string // the SIL Open Font License with its copyright line
}

// CSS returns the @font-face rule that loads the face from src, a URL.
func (f Face) CSS(src string) string {
	return fmt.Sprintf("@font-face{font-family:%q;font-weight:%d;font-display:swap;src:url(%q) format(\"woff2\")}",
		f.Family, f.Weight, src)
}

// Faces returns the embedded fonts: text regular, text semibold and numbers,
// whose figures all have one width.
func Faces() []Face { return faces() }

var faces = sync.OnceValue(func() []Face {
	list := []Face{
		{Name: "text-regular", Family: TextFamily, Weight: 400},
		{Name: "text-semibold", Family: TextFamily, Weight: 600},
		{Name: "numbers-regular", Family: NumbersFamily, Weight: 400},
	}
	read := func(name string) []byte {
		b, err := fontFiles.ReadFile("fonts/" + name)
		if err != nil {
			panic("figure: " + err.Error()) // the files are part of the program
		}
		return b
	}
	licence := string(read("OFL.txt"))
	for i := range list {
		f := &list[i]
		f.TTF, f.WOFF2, f.Licence = read(f.Name+".ttf"), read(f.Name+".woff2"), licence
	}
	return list
})

// typefaces is what text is measured and, in PNG, drawn with.
var typefaces = sync.OnceValue(func() *font.Cache {
	var all font.Collection
	for _, f := range Faces() {
		parsed, err := opentype.Parse(f.TTF)
		if err != nil {
			panic("figure: " + f.Name + ": " + err.Error()) // as above
		}
		all = append(all, font.Face{Font: descriptor(f.Family, f.Weight), Face: parsed})
	}
	return font.NewCache(all)
})

func descriptor(family string, weight int) font.Font {
	d := font.Font{Typeface: font.Typeface(family)}
	if weight > 400 {
		d.Weight = xfont.WeightSemiBold
	}
	return d
}

// hand is a face at a size: the few that pictures are lettered in.
type hand struct {
	family string
	weight int
	size   vg.Length
}

var (
	label  = hand{TextFamily, 400, 12}
	small  = hand{TextFamily, 400, 11}
	strong = hand{TextFamily, 600, 12}
	title  = hand{TextFamily, 600, 15}
	number = hand{NumbersFamily, 400, 11}
)

func (h hand) face() font.Face {
	return typefaces().Lookup(descriptor(h.family, h.weight), h.size)
}

func (h hand) width(s string) vg.Length {
	f := h.face()
	return f.Width(s)
}

// middle is how far below the middle of its capitals a line's baseline lies:
// half of Inter's cap height, 0.727 em.
func (h hand) middle() vg.Length { return 0.364 * h.size }

package cli

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	_ "image/jpeg" // what a photograph may be
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"lampassay/light/appearance"
	"lampassay/publish/figure"
)

// relightOptions are the options of the relight command.
type relightOptions struct {
	lamp  string
	out   string
	name  string
	adapt bool
	read  readOptions
}

// What a photograph may weigh, and how large it may be.
const (
	photoBytes  = 64 << 20
	photoPixels = 40_000_000
	photoSide   = 16_384
)

func newRelight(s streams) *cobra.Command {
	var o relightOptions
	c := &cobra.Command{
		Use:   "relight PHOTO --lamp SPECTRUM --out FILE.png",
		Short: "A photograph as it would look under this lamp: a simulation",
		Long: `Shows a daylight photograph, PNG or JPEG, under a lamp's light. Each colour is
taken for a surface with one smooth reflectance that has this colour in daylight
(Jakob & Hanika 2019), which is then lit by the lamp: one of endless surfaces that
would look so, so the result is a simulation, and says so beneath the picture.

The eye is taken as used to daylight: warm light looks orange. With --adapt it has
become wholly used to the lamp. The photograph is taken as sRGB in daylight; its
EXIF data, the orientation among them, and its ICC profile are not heeded.`,
		Example: `  lampassay relight street.jpg --lamp sodium.txt --out street-sodium.png
  lampassay relight fruit.png --lamp tube.csv --adapt --out fruit-tube.png`,
		Args: exactly(1, "one photograph"),
		RunE: func(c *cobra.Command, args []string) error { return runRelight(c.Context(), s, &o, args[0]) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.StringVar(&o.lamp, "lamp", "", "the lamp's spectrum, a `FILE`")
	f.StringVar(&o.out, "out", "", "the picture to write, a `FILE` that ends in .png")
	f.StringVar(&o.name, "name", "", "what to call the lamp beneath the picture (default: the spectrum file's name)")
	f.BoolVar(&o.adapt, "adapt", false, "show what an eye sees that has become wholly used to the lamp")
	o.read.registerReading(f)
	return c
}

func runRelight(ctx context.Context, s streams, o *relightOptions, photo string) error {
	switch {
	case o.lamp == "":
		return badInput("relight needs the lamp's spectrum: --lamp FILE")
	case !strings.EqualFold(filepath.Ext(o.out), ".png"):
		return badInput("relight needs --out with a name that ends in .png, not %q", o.out)
	case sameFile(photo, o.out):
		return badInput("--out %s is the photograph itself: give another name", o.out)
	}
	read, err := o.read.options()
	if err != nil {
		return err
	}
	picture, ignored, err := readPhoto(photo)
	if err != nil {
		return err
	}
	file, err := readOnly(s, o.lamp, read)
	if err != nil {
		return err
	}
	p, err := file.Spectrum.Project(file.Projection)
	if err != nil {
		return badInput("%s: %w", file.Name, err)
	}
	scene, err := appearance.New(p, appearance.Options{Adapted: o.adapt})
	if errors.Is(err, appearance.ErrDark) {
		return badInput("%s: this light has no luminance to see by", file.Name)
	}
	if err != nil {
		return err
	}
	lit, err := scene.Image(ctx, picture)
	if err != nil {
		return err
	}
	name := o.name
	if name == "" {
		name = strings.TrimSuffix(filepath.Base(file.Name), filepath.Ext(file.Name))
	}
	captioned, err := figure.Caption(lit, relightCaption(name, o.adapt))
	if err != nil {
		return err
	}
	if err := createFile(o.out, func(w io.Writer) error { return png.Encode(w, captioned) }); err != nil {
		return err
	}
	fmt.Fprintf(s.err, "lampassay: wrote %s, a simulation\n", o.out)
	fmt.Fprintf(s.err, "lampassay: the photograph was taken as sRGB in daylight; %s\n", ignored)
	return nil
}

func relightCaption(lamp string, adapted bool) string {
	eye := "an eye used to daylight"
	if adapted {
		eye = "an eye wholly used to this light"
	}
	return fmt.Sprintf("Screen simulation: a daylight photograph under %s, to %s. Surfaces made up from their colours (Jakob & Hanika 2019).", lamp, eye)
}

// sameFile reports whether two names are one file.
func sameFile(a, b string) bool {
	x, err1 := os.Stat(a)
	y, err2 := os.Stat(b)
	return err1 == nil && err2 == nil && os.SameFile(x, y)
}

// readPhoto reads a photograph, and says in a clause what in the file was not
// heeded.
func readPhoto(name string) (image.Image, string, error) {
	data, err := readBounded(name, photoBytes, "a photograph")
	if err != nil {
		return nil, "", err
	}
	config, _, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return nil, "", badInput("%s is no PNG and no JPEG that can be read: %w", name, err)
	}
	if w, h := config.Width, config.Height; w > photoSide || h > photoSide || w*h > photoPixels {
		return nil, "", badInput("%s is %d by %d pixels, and up to %d million, no side over %d, are read: make it smaller", name, w, h, photoPixels/1_000_000, photoSide)
	}
	picture, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, "", badInput("%s: %w", name, err)
	}
	return picture, notHeeded(data), nil
}

// notHeeded says which of a photograph's tags were passed over.
func notHeeded(data []byte) string {
	head := data[:min(len(data), 1<<20)] // tags stand before the picture
	has := func(marks ...string) bool {
		for _, m := range marks {
			if bytes.Contains(head, []byte(m)) {
				return true
			}
		}
		return false
	}
	exif, icc := has("Exif\x00\x00", "eXIf"), has("ICC_PROFILE\x00", "iCCP")
	switch {
	case exif && icc:
		return "its EXIF data, with any orientation, and its ICC profile were passed over"
	case exif:
		return "its EXIF data, with any orientation, were passed over"
	case icc:
		return "its ICC profile was passed over"
	}
	return "it carries neither EXIF data nor an ICC profile"
}

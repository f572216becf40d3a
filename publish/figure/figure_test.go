package figure

import (
	"flag"
	"os"
	"path/filepath"
	"testing"
)

var gallery = flag.String("gallery", "", "write every sample picture into this folder, to be looked at")

func TestEveryPictureIsWrittenAtEveryWidthAndTheme(t *testing.T) {
	for name, p := range pictures(t) {
		for _, width := range []int{Wide, Narrow} {
			if name == "strip" {
				width = 120
			}
			for theme, suffix := range map[Theme]string{Light: "light", Dark: "dark"} {
				stem := name + "-" + suffix
				if width == Narrow {
					stem += "-narrow"
				}
				write(t, stem+".png", func(f *os.File) error { return p.At(width).PNG(f, theme, 2*width) })
				write(t, stem+".svg", func(f *os.File) error { return p.At(width).SVG(f, theme) })
			}
		}
	}
}

func write(t *testing.T, name string, to func(*os.File) error) {
	t.Helper()
	dir := *gallery
	if dir == "" {
		dir = t.TempDir()
	}
	f, err := os.Create(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	if err := to(f); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
}

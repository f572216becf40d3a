package cli

import (
	"fmt"
	"io"
	"os"
	"path/filepath"

	"lampassay/publish/figure"
	"lampassay/publish/sheet"
)

// figurePixels is how wide a figure's PNG is.
const figurePixels = 1600

// writeFigures writes every picture of a lamp's sheet on its own, on a light
// ground.
func writeFigures(s streams, folder string, lamp sheet.Lamp) error {
	pictures, err := sheet.Pictures(lamp)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	for _, p := range pictures {
		name := filepath.Join(folder, p.Name)
		if err := createFile(name+".svg", func(w io.Writer) error { return p.SVG(w, figure.Light) }); err != nil {
			return err
		}
		if err := createFile(name+".png", func(w io.Writer) error { return p.PNG(w, figure.Light, figurePixels) }); err != nil {
			return err
		}
	}
	_, err = fmt.Fprintf(s.err, "lampassay: wrote %d figures to %s, each as SVG and PNG\n", len(pictures), folder)
	return err
}

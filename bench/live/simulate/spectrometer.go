package simulate

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"
)

// Spectrometer is a spectrometer's program that drops a file for each spectrum.
// Like many such programs it opens the file under its final name and takes its time
// to write it.
type Spectrometer struct {
	Stage  *Stage
	Folder string
	Every  time.Duration // from one file to the next; 0 is a second
}

// darkNoise is the noise of a sample; the lamp's strongest is about 10.
const darkNoise = 2e-4

// pieces is in how many writes a file appears.
const pieces = 4

// Serve drops files until the context ends.
func (m *Spectrometer) Serve(ctx context.Context) error {
	every := m.Every
	if every == 0 {
		every = time.Second
	}
	for n := 1; ; n++ {
		if err := m.drop(ctx, n, every); err != nil {
			return fmt.Errorf("simulate: %w", err)
		}
		if !pause(ctx, every*3/4) {
			return nil
		}
	}
}

func (m *Spectrometer) drop(ctx context.Context, n int, every time.Duration) (err error) {
	seconds := m.Stage.Seconds()
	text := m.export(n, m.Stage.Lamp.Spectrum(seconds))
	f, err := os.Create(filepath.Join(m.Folder, fmt.Sprintf("spectrum-%05d.csv", n)))
	if err != nil {
		return err
	}
	defer func() {
		if closeErr := f.Close(); err == nil {
			err = closeErr
		}
	}()
	for k := range pieces {
		if _, err := f.Write(text[k*len(text)/pieces : (k+1)*len(text)/pieces]); err != nil {
			return err
		}
		if k < pieces-1 && !pause(ctx, every/4/pieces) {
			// The program is closed: it writes the rest at once.
			_, err := f.Write(text[(k+1)*len(text)/pieces:])
			return err
		}
	}
	return nil
}

// export is the file's text.
func (m *Spectrometer) export(n int, values []float64) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "# simulated spectrum %d\n# %s\nwavelength (nm),relative power\n", n, m.Stage.Lamp.Name)
	noise := rand.New(rand.NewPCG(uint64(n), 0))
	for i, nm := range m.Stage.Lamp.Axis {
		fmt.Fprintf(&b, "%.1f,%.5f\n", nm, values[i]+darkNoise*noise.NormFloat64())
	}
	return b.Bytes()
}

package cli

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"lampassay/bench/live/simulate"
)

// simulateOptions are the options of the simulate command.
type simulateOptions struct {
	rate    float64
	folder  string
	listen  string
	faults  bool
	lasting time.Duration
}

func newSimulate(s streams) *cobra.Command {
	var o simulateOptions
	c := &cobra.Command{
		Use:   "simulate SETUP",
		Short: "Play a power meter, a light meter and a spectrometer before an invented lamp",
		Long: `Plays three instruments before an invented low-pressure sodium lamp: a power meter
that answers SCPI over TCP, a light meter that sends lines to a serial port (a
pseudo-terminal), and a spectrometer's program that drops files into a folder.
They speak as real ones do, and SETUP is the file that "lampassay record --setup"
reads them by. The lamp is switched on a second after the power meter is first
spoken to. It goes on until it is interrupted.`,
		Example: `  lampassay simulate bench.json --rate 60 --folder drops
  lampassay record --setup bench.json --until-stable --csv readings.csv`,
		Args: exactly(1, "the name of the set-up file to be written"),
		RunE: func(c *cobra.Command, args []string) error { return runSimulate(c.Context(), s, &o, args[0]) },
	}
	f := c.Flags()
	f.SortFlags = false
	f.Float64Var(&o.rate, "rate", 1, "so `many` times faster than time")
	f.StringVar(&o.folder, "folder", "", "drop spectra into this `folder` (default: none)")
	f.StringVar(&o.listen, "listen", "127.0.0.1:0", "where the power meter answers, `host:port`")
	f.BoolVar(&o.faults, "faults", false, "as on a bad day: markers, noise, dropped connections")
	f.DurationVar(&o.lasting, "for", 0, "end after this `time`")
	return c
}

func runSimulate(ctx context.Context, s streams, o *simulateOptions, setUp string) error {
	if !(o.rate >= 1 && o.rate <= 1000) {
		return badInput("--rate %g: a simulated lamp burns 1 to 1000 times faster", o.rate)
	}
	if o.folder != "" {
		if err := os.MkdirAll(o.folder, 0o755); err != nil {
			return err
		}
		whole, err := filepath.Abs(o.folder)
		if err != nil {
			return err
		}
		o.folder = whole
	}
	bench, err := simulate.Open(ctx, simulate.Options{
		Rate: o.rate, Faults: o.faults, Folder: o.folder, Listen: o.listen, OnContact: time.Second, Every: simulatedEvery(o.rate),
	})
	if err != nil {
		return err
	}
	text, err := bench.SetUp()
	if err == nil {
		err = createFile(setUp, func(w io.Writer) error {
			_, err := w.Write(text)
			return err
		})
	}
	if err != nil {
		bench.Close()
		return err
	}
	fmt.Fprintf(s.err, "lampassay: the instruments are there; read them with \"lampassay record --setup %s\"\n", setUp)
	if o.lasting > 0 {
		over, cancel := context.WithTimeout(ctx, o.lasting)
		defer cancel()
		ctx = over
	}
	<-ctx.Done()
	return bench.Close()
}

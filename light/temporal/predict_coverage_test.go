package temporal

import (
	"flag"
	"fmt"
	"math"
	"testing"
)

var (
	bedLamps  = flag.Int("lamps", 0, "measure predictions on so many lamps of each kind and noise, and print the table")
	bedStream = flag.Uint64("stream", 7, "random stream of that table; 1 was tuned on")
	bedShares = flag.Bool("shares", false, "print that table for each share of the way")
)

// noises of the bed, as fractions.
var bedNoises = []float64{0, 0.0003, 0.001}

// The table of docs/method/runup.md is -lamps 30.
func TestPredictionsOnTheWholeBed(t *testing.T) {
	if *bedLamps == 0 {
		t.Skip("asked for by -lamps")
	}
	fmt.Println("| run-up | noise | asked | refused | no upper end | holds | too early | too late | error | width |")
	fmt.Println("|---|---|---|---|---|---|---|---|---|---|")
	for i, k := range append(kinds(), strangers()...) {
		for j, noise := range bedNoises {
			all := measure(t, *bedStream*1000+uint64(10*i+j), k, noise, *bedLamps)
			line := func(when string, a *tally) {
				n := float64(a.asked - a.refused)
				fmt.Printf("| %s%s | %g %% | %d | %.0f %% | %.0f %% | %.0f %% | %.0f %% | %.0f %% | %+.0f %% | %.2f |\n", k.name, when, 100*noise, a.asked,
					100*float64(a.refused)/float64(a.asked), 100*float64(a.unbounded)/n, 100*a.coverage(),
					100*float64(a.above)/n, 100*float64(a.below)/n, 100*math.Expm1(median(a.errors)), median(a.widths))
			}
			line("", all[0])
			for _, q := range shareOfWay {
				if *bedShares {
					line(fmt.Sprintf(" at %g", q), all[q])
				}
			}
		}
	}
}

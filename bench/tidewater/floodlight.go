package tidewater

import (
	"bufio"
	"fmt"
	"io"
	"math"
)

// Floodlight is the yard floodlight of the club, read over angles: an invented
// lamp, as all of this package's are.
var Floodlight = struct {
	Name, FileName string
	Watts          float64 // at the mains
	Size           float64 // m, the side of its square face
	Distance       float64 // m, from the face to the light meter
}{"Yard floodlight", "yard-floodlight.csv", 21.4, 0.18, 3}

// floodlightIntensity is the floodlight's true intensity in cd: a beam wider to
// the sides (C 90°) than up and down, and a little stray light from its housing.
func floodlightIntensity(gamma, c float64) float64 {
	const deg = math.Pi / 180
	cos := math.Cos(gamma * deg)
	stray := 1.5 * (1 + cos) / 2
	if cos <= 0 {
		return stray
	}
	across := math.Sin(c * deg)
	return 920*math.Pow(cos, 3.2-1.6*across*across) + stray
}

// FloodlightFlux is the floodlight's true luminous flux in lm, of its intensity
// summed in steps of a quarter of a degree.
func FloodlightFlux() float64 {
	const step, deg = 0.25, math.Pi / 180
	sum := 0.0
	for g := step / 2; g < 180; g += step {
		for c := 1.0; c < 360; c += 2 {
			sum += floodlightIntensity(g, c) * math.Sin(g*deg)
		}
	}
	return sum * step * deg * 2 * deg
}

// WriteFloodlight writes what the club's light meter read: every 10° on a quarter
// of the half-planes, with the room's light beside it, and an error of the
// meter's own that repeats at each angle. The same bytes each time.
func WriteFloodlight(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "# Yard floodlight of the Tidewater Model Railway Club, invented\n# ambient: the same with a mask that hides the lamp\nangle,plane,lux,ambient,distance (m)\n")
	reading := 0
	for c := 0.0; c <= 90; c += 22.5 {
		for g := 0.0; g <= 180; g += 10 {
			reading++
			direct := floodlightIntensity(g, c) / (Floodlight.Distance * Floodlight.Distance)
			ambient := 0.3 + 0.1*math.Abs(math.Cos(g*math.Pi/360))
			wobble := 1 + 0.006*math.Sin(float64(reading)*2.399963) // the golden angle: no pattern over the angles
			fmt.Fprintf(b, "%g,%g,%.2f,%.2f,%g\n", g, c, direct*wobble+ambient, ambient, Floodlight.Distance)
		}
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("tidewater: write %s: %w", Floodlight.FileName, err)
	}
	return nil
}

package standards

import (
	"strings"
	"sync"
)

// Line is one strong emission line of an element.
type Line struct {
	Nm float64 // wavelength in standard air, nm
	// Spectrum is the emitter in spectroscopic notation: "Na I" is neutral
	// sodium, "Ba II" singly ionised barium.
	Spectrum string
	// Intensity is relative within one spectrum and not comparable between
	// spectra.
	Intensity float64
	// FromMemory tells which figures do not come from the NIST Atomic Spectra
	// Database.
	NmFromMemory, IntensityFromMemory bool
}

// Lines returns the carried lines, by spectrum and then by wavelength. The
// slice must not be changed.
func Lines() []Line { return lines() }

var lines = sync.OnceValue(func() []Line {
	t := mustLoad("lines")
	intensity := t.column("intensity")
	all := make([]Line, len(t.Nm))
	for i, row := range t.text {
		marks := row[3]
		all[i] = Line{t.Nm[i], row[1], intensity[i], strings.Contains(marks, "w"), strings.Contains(marks, "i")}
	}
	return all
})

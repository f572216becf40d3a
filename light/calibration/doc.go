// Package calibration qualifies a small array spectrometer and corrects what it
// records: pure functions over counts, pixels and wavelengths.
//
// # What an instrument does to light
//
// Light of spectral power S(λ) becomes counts in pixel p through
//
//	counts = N( t · [(I + D)(r₁ + r₂)](p) + dark(t) ),   r₁ = ∫ S(λ) R(λ) g(p − p(λ)) dλ
//
// with p(λ) the dispersion, g the line shape, R the response, r₂ the second order
// of r₁ at twice its wavelength, D the stray light, t the exposure and N a
// detector that is not quite proportional and stops at full scale. Each part has
// a calibration here, made from recordings that a bench can make, and a
// correction that undoes it:
//
//	N       [ClipMask], [FitLinearity], [Linearity]
//	dark    [SubtractDark]
//	t       [Stitch]
//	p(λ)    [CalibrateWavelength], [Wavelength.CheckShift], [Dispersion]
//	D       [StrayShare], [Stray]
//	r₂      [FindGhosts], [NewSecondOrder], [SecondOrder]
//	R       [TungstenReference], [NewResponse], [Response]
//	g       [Wavelength.Bandwidth], [CorrectBandpass]
//
// bench/instrument applies them in the one order in which they may be undone.
//
// # Wavelength
//
// The axis comes from line lamps. [FindPeaks] fits every peak on raw pixels with
// a line shape integrated over the pixel. Peaks and lines are then paired by
// search: every arrangement that an instrument could have is scored by how well
// it explains all peaks of all recordings, missing lines and extra peaks
// included, and the distance to the next best that disagrees decides whether the
// result is [Wavelength.Confident]. Pairs that somebody is sure of can be given
// ([Expected.Given]), and are then facts to the search. The law of dispersion is chosen by its error
// at lines left out of the fit. Only atomic lines are anchors; phosphor humps,
// whose place is their maker's choice, and lines that cannot be told from a
// neighbour are not.
//
// # Gates
//
// [Inspect] looks at recordings the way a suspicious colleague would: is it
// clipped, does the dark belong to it, is there light where there can be none,
// are lines sampled too coarsely to hold their energy. A [Finding] carries the
// figure that tripped it, what to do, and the spectrum as it may be without the
// defect, from which the caller's own evaluator tells what that does to lumens
// and colour ([Finding.Change]).
//
// # What it does not do
//
// Nothing is smoothed, filled or extrapolated: a response ends where stray light
// or noise could rule it, and a wavelength axis says between which lines it is
// vouched for. Several limits are common practice or own estimates; each says so
// where it is defined.
package calibration

// Package uncertainty says how sure a figure is, and what would make it surer.
//
// # Two ways, side by side
//
// A [Model] is a function of inputs that are not known exactly. Each [Input]
// has a [Distribution]: what is believed about it. [Model.MonteCarlo] draws the
// inputs over and over, follows every draw through the function, and reads mean,
// standard uncertainty, skew and coverage interval from what comes out (JCGM
// 101:2008). [Model.Propagate] takes the function as straight near the
// estimates and adds the contributions in quadrature (JCGM 100:2008), with
// degrees of freedom and coverage factor; it also makes the budget, which names
// the input to improve first. Where the two disagree, [Law.Holds] is false and
// the draws are to be believed.
//
// # A lamp on the bench
//
// A [Sitting] is one spectrum with the figures measured beside it, and what is
// known of the instruments. Its model sends every draw through the whole
// pipeline, pixel noise, response, stray light, wavelengths, bandwidth, scale
// and power, so that every quantity of the register gets its own uncertainty:
//
//	s := uncertainty.Sitting{Spectrum: sp, Given: given,
//		Spectrometer: uncertainty.CompactArray(),
//		Factors: append(uncertainty.LuxOverAngles(uncertainty.White),
//			uncertainty.PlugInMeter(8.5)...)}
//	report, err := s.Assess(ctx, uncertainty.Options{Seed: 1})
//	report.Figure(quantity.CCT).StdDev
//
// The instrument classes are editable starting points, and they are this
// project's own estimates; what was measured or certified replaces them: a
// sitting file ([Conditions]), the calibrations of an instrument
// (bench/instrument makes its [Spectrometer], with [AxisErrors] and a [Curve] for
// each cause), or repeated spectra ([RepeatedSpectra]).
//
// # Same seed, same figures
//
// Draws are made in chunks, each from its own ChaCha8 stream keyed by the seed
// and the number of the chunk, and each lands in its own place. The result does
// not depend on how many workers shared the work, to the last bit.
package uncertainty

// Package emission answers the question "what makes this light?" as a
// spectroscopist would: what stands in the spectrum, what made it, how sure
// that is, what the instrument cannot show, and what kind of lamp it therefore
// is.
//
// # The way through
//
// [Analyse] reads a spectrum in five steps, each of which a person can follow
// on the curve.
//
// The noise of one sample is taken from third differences in windows along the
// curve, so that a parabola counts for nothing and lines for little. The
// instrument's bandwidth is the width that the narrow hills agree on.
//
// Lines are maxima of a filter that gives, at every sample, the least-squares
// height of a line of the instrument's width standing on a parabola. Continua
// and bands are parabolas on that scale and give nothing. A maximum counts as a
// line from 5.5 standard deviations on. Lines are then fitted, neighbours
// together, each with its own place, width and height, and their standard
// uncertainties; what is left is the continuum, and the continuum is described
// by a hot body or by a few Gaussians in photon energy, the shape that thermal
// broadening gives to the emission of an ion or a semiconductor.
//
// An element is found by its whole pattern. Its known lines are passed through
// the same filter at the same bandwidth, so that a blend is expected where a
// blend will be seen. For each strong feature in range that is seen, the
// likelihood of its place and height is set against that of such a line
// standing there by chance, which depends on how many unexplained lines as
// strong are near; each one that is not seen counts against the element by how
// much stronger than the limit of detection it should have been. A common shift
// of the wavelength axis is allowed for and paid for. The element with the best
// odds takes its lines, and the others are judged on what is left. Ions of
// phosphors compete on the same terms, with the tolerance that their hosts
// need.
//
// The family of the lamp follows from figures that are given as reasons: the
// share of the visible power in a line, the ratio of the mercury lines at 578
// and 546 nm that tells low pressure from high, the misfit of a Planck curve.
// "Unknown" is an answer.
//
// # What it rests on
//
// Wavelengths are those of the NIST Atomic Spectra Database as package standards
// carries them. Relative intensities belong to one discharge each; a factor of
// three either way is expected and far more is forgiven. The prior odds of the
// elements, the shapes of phosphor emission and the limits between families are
// judgement and marked as such where they stand. A score is a probability only
// under these assumptions: it orders explanations, it does not certify them.
//
// # What it cannot do
//
// It carries the strong lines of 25 spectra. The hundreds of lines of scandium
// and the rare earths in a metal-halide lamp are mostly left unexplained and
// said to be. Two sources in one spectrum are named for the stronger one. A
// table at 5 nm has lost the shape of lines, and the result warns of that.
package emission

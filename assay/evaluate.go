package assay

import (
	"math"

	"lampassay/assay/quantity"
	"lampassay/light/colorimetry"
	"lampassay/light/photometry"
	"lampassay/light/rendition"
	"lampassay/light/spectrum"
	"lampassay/light/standards"
)

// Validity limits of the methods.
const (
	cctLimit = 0.05   // largest |Duv| with a CCT, CIE 15:2018 clause 9.5
	criLimit = 5.4e-3 // largest u,v distance from the reference, CIE 13.3 clause 5.3

	// A light counts as predominantly monochromatic when this share of its
	// visible radiation lies within this many nanometres. CIE 13.3 puts such
	// light out of its scope without a number; these two are our own.
	monochromaticShare  = 0.9
	monochromaticWindow = 20
)

// AchromaticX and AchromaticY are the achromatic point that dominant wavelength
// and excitation purity are counted from: the one Regulation (EU) 2019/2020
// Annex I states, within rounding that of equal energy.
const (
	AchromaticX = 0.333
	AchromaticY = 0.333
)

// Evaluator computes quantities. It holds tables and scratch space and serves
// one goroutine at a time.
type Evaluator struct {
	observer, observer10 *standards.Observer
	rendition            *rendition.Evaluator
	without              parts
}

// parts are stretches of the work that nothing else builds on.
type parts struct{ eye, dominant, ssi bool }

// Only leaves out work that none of the given quantities needs. What is left
// out has no value, as if it had not been measured; all the given ones come out
// as they do without Only.
func (e *Evaluator) Only(ids []quantity.ID) {
	e.without = parts{eye: true, dominant: true, ssi: true}
	for _, id := range ids {
		switch {
		case quantity.Get(id).Group == quantity.Eye:
			e.without.eye = false
		case id == quantity.DominantWavelength || id == quantity.ExcitationPurity:
			e.without.dominant = false
		case id == quantity.SSI:
			e.without.ssi = false
		}
	}
}

// NewEvaluator prepares an evaluator.
func NewEvaluator() *Evaluator {
	return &Evaluator{
		observer:   standards.CIE1931(),
		observer10: standards.CIE1964(),
		rendition:  rendition.New(),
	}
}

// Evaluate fills r with every quantity of one projected spectrum. It does not
// allocate and never fails: what cannot be had is a reason in the result.
func (e *Evaluator) Evaluate(p *spectrum.Projected, g *Given, r *Result) {
	e.begin(p, g, r)
	e.shape(p, r)
	e.colour(p, r)
	e.rendering(p, r)
	if !e.without.eye {
		e.eye(p, r)
	}
	e.scale(p, r)
	e.watts(p, r)
	for id, reason := range r.reasons {
		if reason.hasValue() && (math.IsNaN(r.values[id]) || math.IsInf(r.values[id], 0)) {
			r.refuse(notComputable, quantity.ID(id))
		}
	}
}

// begin clears the result and notes what the spectrum covers.
func (e *Evaluator) begin(p *spectrum.Projected, g *Given, r *Result) {
	r.Given, r.Quantity = *g, p.Quantity
	for id := range r.reasons {
		r.values[id], r.reasons[id] = 0, notMeasured
	}
	r.From, r.To, r.Pitch, r.Negative, r.Kind = p.From, p.To, p.Pitch, p.Negative, p.Kind
	from, to := p.Extent()
	table := weightings()
	for i := range table {
		r.missing[i] = table[i].missing(from, to)
	}
	r.Watts, r.Emission, r.Uncertainty = Watts{}, nil, nil
}

// shape finds peak, centroid, width and the shares of the bands.
func (e *Evaluator) shape(p *spectrum.Projected, r *Result) {
	r.set(quantity.PeakWavelength, p.Peak)
	if !(p.PeakValue > 0) {
		r.refuse(sumsToNothing, quantity.PeakWavelength)
	}
	r.set(quantity.FWHM, p.FWHM())
	if math.IsNaN(p.FWHM()) {
		r.refuse(noHalfHeight, quantity.FWHM)
	}
	if !(p.Total > 0) {
		r.refuse(sumsToNothing, quantity.CentroidWavelength, quantity.PhotonEfficacy)
		for _, band := range bands {
			r.refuse(sumsToNothing, band.id)
		}
		r.Monochromatic = 0
		return
	}
	r.set(quantity.CentroidWavelength, p.Centroid())
	for _, band := range bands {
		if p.From < band.to && p.To > band.from {
			r.set(band.id, p.Share(band.band))
		} else {
			r.refuse(rangeMissesBand, band.id)
		}
	}
	if p.Covers(400, 700) {
		r.set(quantity.PhotonEfficacy, p.Micromol/p.Total)
	} else {
		r.refuse(rangeMissesPhotons, quantity.PhotonEfficacy)
	}
	r.Monochromatic = monochromaticity(p)
}

// bands are the shares with the range in nm that a spectrum must touch to say
// anything about them.
var bands = [...]struct {
	id       quantity.ID
	band     spectrum.Band
	from, to float64
}{
	{quantity.ShareUV, spectrum.BelowVisible, 0, 380},
	{quantity.ShareVisible, spectrum.Visible, 380, 780},
	{quantity.ShareIR, spectrum.AboveVisible, 780, math.Inf(1)},
	{quantity.ShareUVC, spectrum.UVC, 100, 280},
	{quantity.ShareUVB, spectrum.UVB, 280, 315},
	{quantity.ShareUVA, spectrum.UVA, 315, 400},
	{quantity.ShareIRA, spectrum.IRA, 780, 1400},
}

// monochromaticity returns the largest share of the visible radiation within
// monochromaticWindow nanometres, 0 where there is none.
func monochromaticity(p *spectrum.Projected) float64 {
	visible := p.B[380-spectrum.GridFirst : 780-spectrum.GridFirst+1]
	var sum, window, largest float64
	for i, b := range visible {
		sum += b
		window += b
		if i > monochromaticWindow {
			window -= visible[i-monochromaticWindow-1]
		}
		largest = max(largest, window)
	}
	if !(sum > 0) {
		return 0
	}
	return largest / sum
}

var colourIDs = []quantity.ID{
	quantity.ChromaticityX, quantity.ChromaticityY, quantity.UPrime, quantity.VPrime,
	quantity.CCT, quantity.Duv, quantity.DominantWavelength, quantity.ExcitationPurity,
}

// colour finds chromaticity, CCT and dominant wavelength.
func (e *Evaluator) colour(p *spectrum.Projected, r *Result) {
	r.XYZ = colorimetry.Tristimulus(e.observer, p)
	r.XYZ10 = colorimetry.Tristimulus(e.observer10, p)
	r.set(quantity.LER, photometry.LER(p))
	switch {
	case r.lacksAny(weightV):
		r.refuse(rangeMissesV, quantity.LER)
	case !(p.Total > 0) || !(r.XYZ.Y > 0):
		r.refuse(sumsToNothing, quantity.LER)
	}

	switch {
	case r.lacksAny(weightX10, weightY10, weightZ10):
		r.refuse(rangeMissesObserver, quantity.ChromaticityX10, quantity.ChromaticityY10)
	case !isColour(r.XYZ10):
		r.refuse(sumsToNothing, quantity.ChromaticityX10, quantity.ChromaticityY10)
	default:
		x, y := r.XYZ10.XY()
		r.set(quantity.ChromaticityX10, x)
		r.set(quantity.ChromaticityY10, y)
	}

	if r.lacksAny(weightX, weightV, weightZ) {
		r.refuse(rangeMissesObserver, colourIDs...)
		return
	}
	if !isColour(r.XYZ) {
		r.refuse(sumsToNothing, colourIDs...)
		return
	}
	x, y := r.XYZ.XY()
	r.set(quantity.ChromaticityX, x)
	r.set(quantity.ChromaticityY, y)
	u, v := r.XYZ.UVPrime()
	r.set(quantity.UPrime, u)
	r.set(quantity.VPrime, v)

	cct, duv, ok := colorimetry.CCT(r.XYZ.UV())
	r.set(quantity.CCT, cct)
	r.set(quantity.Duv, duv)
	if !ok || math.Abs(duv) > cctLimit {
		r.refuse(noCCT, quantity.CCT)
	}
	if e.without.dominant {
		return
	}
	lambda, purity, ok := colorimetry.Dominant(x, y, AchromaticX, AchromaticY)
	r.set(quantity.DominantWavelength, lambda)
	r.set(quantity.ExcitationPurity, purity)
	if !ok {
		r.refuse(achromatic, quantity.DominantWavelength, quantity.ExcitationPurity)
	}
}

// isColour reports whether tristimulus values can have a chromaticity: a light
// has a positive luminance and no negative amount in total.
func isColour(c colorimetry.XYZ) bool {
	return c.Y > 0 && c.X+c.Y+c.Z > 0 && !math.IsInf(c.X+c.Y+c.Z, 0)
}

// rendering runs CIE 13.3, CIE 224 with TM-30, and SSI.
func (e *Evaluator) rendering(p *spectrum.Projected, r *Result) {
	cct, ok := r.Value(quantity.CCT)
	whyNot := noReference
	switch {
	case ok && !rendition.HasReference(cct):
		ok, whyNot = false, beyondReference
	case !ok && r.reasons[quantity.CCT] != noCCT:
		whyNot = r.reasons[quantity.CCT]
	}
	if !ok {
		r.refuse(whyNot, quantity.Ra, quantity.Rf, quantity.Rg, quantity.SSI)
		r.refuseRun(whyNot, quantity.R(1), quantity.Specials)
		r.refuseRun(whyNot, quantity.RfHue(1), 3*quantity.HueBins+quantity.FidelitySamples)
		return
	}

	e.rendition.CRI(p, cct, &r.CRI)
	r.set(quantity.Ra, r.CRI.Ra)
	for i, v := range r.CRI.R {
		r.set(quantity.R(i+1), v)
	}
	scope := defined
	switch {
	case r.Monochromatic >= monochromaticShare:
		scope = monochromatic
	case !(r.CRI.DeltaC <= criLimit):
		scope = farFromReference
	}
	r.reasons[quantity.Ra] = scope
	for i := 1; i <= quantity.Specials; i++ {
		r.reasons[quantity.R(i)] = scope
	}
	r.refuse(noTable, quantity.R(15))

	e.rendition.Fidelity(p, cct, &r.TM30)
	scope = defined
	if r.Monochromatic >= monochromaticShare {
		scope = monochromatic
	}
	put := func(id quantity.ID, v float64) { r.values[id], r.reasons[id] = v, scope }
	put(quantity.Rf, r.TM30.Rf)
	put(quantity.Rg, r.TM30.Rg)
	for i := range quantity.HueBins {
		put(quantity.RfHue(i+1), r.TM30.RfH[i])
		put(quantity.RcsHue(i+1), r.TM30.RcsH[i])
		put(quantity.RhsHue(i+1), r.TM30.RhsH[i])
	}
	for i := range quantity.FidelitySamples {
		put(quantity.RfSample(i+1), r.TM30.RfCES[i])
	}

	if e.without.ssi {
		return
	}
	if p.Covers(380, 675) { // 375–380 nm weighs next to nothing in the index
		r.set(quantity.SSI, e.rendition.SSI(p, cct))
	} else {
		r.refuse(rangeMissesSSI, quantity.SSI)
	}
}

func (r *Result) refuseRun(why Reason, first quantity.ID, n int) {
	for id := first; id < first+quantity.ID(n); id++ {
		r.refuse(why, id)
	}
}

// eye finds the scotopic, mesopic and α-opic quantities that need no scale.
func (e *Evaluator) eye(p *spectrum.Projected, r *Result) {
	ratios := [...]struct {
		id quantity.ID
		v  float64
	}{
		{quantity.SPRatio, photometry.SPRatio(p)},
		{quantity.SConeDER, photometry.DER(photometry.SCone, p)},
		{quantity.MConeDER, photometry.DER(photometry.MCone, p)},
		{quantity.LConeDER, photometry.DER(photometry.LCone, p)},
		{quantity.RhodopicDER, photometry.DER(photometry.Rhodopic, p)},
		{quantity.MelDER, photometry.DER(photometry.Melanopic, p)},
	}
	for _, q := range ratios {
		switch {
		case r.lacksAny(weightV):
			r.refuse(rangeMissesV, q.id)
		case r.lacksAny(weightingOf(q.id)):
			r.refuse(rangeMissesWeighting, q.id)
		case !(r.XYZ.Y > 0):
			r.refuse(sumsToNothing, q.id)
		default:
			r.set(q.id, q.v)
		}
	}
	if !r.Given.Adaptation.Known {
		return
	}
	sp, ok := r.Value(quantity.SPRatio)
	if !ok {
		r.refuse(r.reasons[quantity.SPRatio], quantity.MesopicLuminance)
		return
	}
	if l, _, err := photometry.Mesopic(r.Given.Adaptation.Value, sp); err == nil {
		r.set(quantity.MesopicLuminance, l)
	} else {
		r.refuse(notComputable, quantity.MesopicLuminance)
	}
}

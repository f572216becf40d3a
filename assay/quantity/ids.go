package quantity

// The quantities, in the order of the register. Numbered runs follow the single
// ones: see [R], [RfHue], [RcsHue], [RhsHue] and [RfSample].
const (
	LuminousFlux ID = iota
	Illuminance
	Luminance
	LuminousIntensity
	Power
	PowerLamp
	LuminousEfficacy
	LampEfficacy
	RadiantFlux
	RadiantEfficiency
	LER

	ChromaticityX
	ChromaticityY
	ChromaticityX10
	ChromaticityY10
	UPrime
	VPrime
	CCT
	Duv
	DominantWavelength
	ExcitationPurity

	PeakWavelength
	CentroidWavelength
	FWHM

	Ra
	Rf
	Rg
	SSI

	SPRatio
	MesopicLuminance
	MelDER
	SConeDER
	MConeDER
	LConeDER
	RhodopicDER
	MelEDI
	SConeEDI
	MConeEDI
	LConeEDI
	RhodopicEDI

	PhotonFlux
	PhotonEfficacy

	ShareUV
	ShareVisible
	ShareIR
	ShareUVC
	ShareUVB
	ShareUVA
	ShareIRA

	firstR
	firstRfHue    = firstR + Specials
	firstRcsHue   = firstRfHue + HueBins
	firstRhsHue   = firstRcsHue + HueBins
	firstRfSample = firstRhsHue + HueBins

	// Count is the number of quantities in the register.
	Count = firstRfSample + FidelitySamples
)

// Lengths of the numbered runs.
const (
	Specials        = 15 // special colour rendering indices R1…R15
	HueBins         = 16 // hue bins of TM-30
	FidelitySamples = 99 // colour evaluation samples of CIE 224
)

// R returns the special colour rendering index of sample i, 1 to 15.
func R(i int) ID { return numbered(firstR, i, Specials) }

// RfHue returns the local colour fidelity of hue bin i, 1 to 16.
func RfHue(i int) ID { return numbered(firstRfHue, i, HueBins) }

// RcsHue returns the local chroma shift of hue bin i, 1 to 16.
func RcsHue(i int) ID { return numbered(firstRcsHue, i, HueBins) }

// RhsHue returns the local hue shift of hue bin i, 1 to 16.
func RhsHue(i int) ID { return numbered(firstRhsHue, i, HueBins) }

// RfSample returns the fidelity of colour evaluation sample i, 1 to 99.
func RfSample(i int) ID { return numbered(firstRfSample, i, FidelitySamples) }

func numbered(first ID, i, n int) ID {
	if i < 1 || i > n {
		panic("quantity: index outside the numbered run")
	}
	return first + ID(i-1)
}

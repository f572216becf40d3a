package quantity

import (
	"fmt"
	"sync"
)

const (
	cie15    = "CIE 15:2018"
	cie133   = "CIE 13.3-1995"
	cie224   = "CIE 224:2017"
	tm30     = "ANSI/IES TM-30-20"
	cieS026  = "CIE S 026/E:2018"
	iso23539 = "ISO/CIE 23539:2023"
	ilv      = "CIE S 017:2020 (ILV)"
	own      = "definition in docs/method"
)

const (
	scopeWhite      = "needs a correlated colour temperature, which exists within |Duv| ≤ 0.05"
	scopeAchromatic = "counted from the achromatic point x = y = 0.333 of Regulation (EU) 2019/2020"
	scopeCRI        = "for light within 5.4e-3 in u,v of its reference and not predominantly monochromatic; elsewhere computed but outside the method's scope"
	scopeFidelity   = "for white light; for predominantly monochromatic light computed but outside the method's scope"
	scopeFlux       = "needs a luminous flux, given or from an absolute spectrum"
	scopePower      = "needs a measured power"
)

var register = sync.OnceValue(func() []Definition {
	d := make([]Definition, Count)
	set := func(id ID, def Definition) {
		def.ID = id
		d[id] = def
	}
	set(LuminousFlux, Definition{Key: "luminous_flux", Symbol: "Φ", Name: "luminous flux", Unit: "lm", Source: iso23539, Scope: scopeFlux, Group: Light, Significant: 4})
	set(Illuminance, Definition{Key: "illuminance", Symbol: "E", Name: "illuminance", Unit: "lx", Source: iso23539, Scope: "needs an irradiance spectrum", Group: Light, Significant: 4, Detail: true})
	set(Luminance, Definition{Key: "luminance", Symbol: "L", Name: "luminance", Unit: "cd/m²", Source: iso23539, Scope: "needs a radiance spectrum", Group: Light, Significant: 4, Detail: true})
	set(LuminousIntensity, Definition{Key: "luminous_intensity", Symbol: "I", Name: "luminous intensity", Unit: "cd", Source: iso23539, Scope: "needs an intensity spectrum", Group: Light, Significant: 4, Detail: true})
	set(Power, Definition{Key: "power", Symbol: "P", Name: "power at the mains", Unit: "W", Source: "measured", Scope: scopePower, Group: Light, Significant: 3})
	set(PowerLamp, Definition{Key: "power_lamp", Symbol: "P lamp", Name: "power at the lamp", Unit: "W", Source: "measured", Scope: "needs a power measured at the lamp's terminals", Group: Light, Significant: 3})
	set(LuminousEfficacy, Definition{Key: "luminous_efficacy", Symbol: "η", Name: "luminous efficacy, at the mains", Unit: "lm/W", Source: ilv, Scope: scopePower, Group: Light, Significant: 3})
	set(LampEfficacy, Definition{Key: "lamp_efficacy", Symbol: "η lamp", Name: "luminous efficacy, at the lamp", Unit: "lm/W", Source: ilv, Scope: "needs a power measured at the lamp's terminals", Group: Light, Significant: 3})
	set(RadiantFlux, Definition{Key: "radiant_flux", Symbol: "Φe", Name: "radiant flux within the covered range", Unit: "W", Source: ilv, Scope: scopeFlux, Group: Light, Significant: 3})
	set(RadiantEfficiency, Definition{Key: "radiant_efficiency", Symbol: "ηe", Name: "radiant efficiency within the covered range", Unit: "1", Source: ilv, Scope: scopePower, Group: Light, Decimals: 1, Percent: true})
	set(LER, Definition{Key: "ler", Symbol: "K", Name: "luminous efficacy of radiation", Unit: "lm/W", Source: iso23539, Scope: "needs a range that covers V(λ); the radiation counted is that within the range", Group: Light, Decimals: 1})

	set(ChromaticityX, Definition{Key: "x", Symbol: "x", Name: "chromaticity x, 2° observer", Source: cie15 + " 7.1", Group: Colour, Decimals: 4})
	set(ChromaticityY, Definition{Key: "y", Symbol: "y", Name: "chromaticity y, 2° observer", Source: cie15 + " 7.1", Group: Colour, Decimals: 4})
	set(ChromaticityX10, Definition{Key: "x_10", Symbol: "x₁₀", Name: "chromaticity x, 10° observer", Source: cie15 + " 7.1", Group: Colour, Decimals: 4, Detail: true})
	set(ChromaticityY10, Definition{Key: "y_10", Symbol: "y₁₀", Name: "chromaticity y, 10° observer", Source: cie15 + " 7.1", Group: Colour, Decimals: 4, Detail: true})
	set(UPrime, Definition{Key: "u_prime", Symbol: "u′", Name: "CIE 1976 chromaticity u′", Source: cie15 + " 8.1", Group: Colour, Decimals: 4})
	set(VPrime, Definition{Key: "v_prime", Symbol: "v′", Name: "CIE 1976 chromaticity v′", Source: cie15 + " 8.1", Group: Colour, Decimals: 4})
	set(CCT, Definition{Key: "cct", Symbol: "CCT", Name: "correlated colour temperature", Unit: "K", Source: cie15 + " 9.5", Scope: "within |Duv| ≤ 0.05", Group: Colour, Decimals: 0})
	set(Duv, Definition{Key: "duv", Symbol: "Duv", Name: "distance from the Planckian locus, CIE 1960", Source: "ANSI C78.377-2017; " + cie15 + " 9.5", Group: Colour, Decimals: 4})
	set(DominantWavelength, Definition{Key: "dominant_wavelength", Symbol: "λd", Name: "dominant wavelength (negative: complementary)", Unit: "nm", Source: cie15 + " 9.1", Scope: scopeAchromatic, Group: Colour, Decimals: 1})
	set(ExcitationPurity, Definition{Key: "excitation_purity", Symbol: "pe", Name: "excitation purity", Unit: "1", Source: cie15 + " 9.2", Scope: scopeAchromatic, Group: Colour, Decimals: 1, Percent: true})

	set(PeakWavelength, Definition{Key: "peak_wavelength", Symbol: "λp", Name: "peak wavelength", Unit: "nm", Source: ilv, Group: Shape, Decimals: 1})
	set(CentroidWavelength, Definition{Key: "centroid_wavelength", Symbol: "λc", Name: "centroid wavelength of the covered range", Unit: "nm", Source: ilv, Group: Shape, Decimals: 1})
	set(FWHM, Definition{Key: "fwhm", Symbol: "Δλ", Name: "full width at half maximum of the tallest feature", Unit: "nm", Source: ilv, Group: Shape, Decimals: 1})

	set(Ra, Definition{Key: "ra", Symbol: "Ra", Name: "general colour rendering index", Source: cie133, Scope: scopeCRI, Group: CRI, Decimals: 0})
	for i := 1; i <= Specials; i++ {
		set(R(i), Definition{Key: fmt.Sprintf("r%d", i), Symbol: fmt.Sprintf("R%d", i), Name: fmt.Sprintf("special colour rendering index, sample %d", i), Source: cie133, Scope: scopeCRI, Group: CRI, Decimals: 0})
	}
	d[R(15)].Source = "JIS Z 8726:1990"
	set(Rf, Definition{Key: "rf", Symbol: "Rf", Name: "colour fidelity index", Source: cie224 + "; " + tm30, Scope: scopeFidelity, Group: Fidelity, Decimals: 0})
	set(Rg, Definition{Key: "rg", Symbol: "Rg", Name: "gamut index", Source: tm30 + " 4.4", Scope: scopeFidelity, Group: Fidelity, Decimals: 0})
	for i := 1; i <= HueBins; i++ {
		set(RfHue(i), Definition{Key: fmt.Sprintf("rf_h%d", i), Symbol: fmt.Sprintf("Rf,h%d", i), Name: fmt.Sprintf("local colour fidelity, hue bin %d", i), Source: tm30, Scope: scopeFidelity, Group: Fidelity, Decimals: 0})
		set(RcsHue(i), Definition{Key: fmt.Sprintf("rcs_h%d", i), Symbol: fmt.Sprintf("Rcs,h%d", i), Name: fmt.Sprintf("local chroma shift, hue bin %d", i), Unit: "1", Source: tm30, Scope: scopeFidelity, Group: Fidelity, Decimals: 0, Percent: true})
		set(RhsHue(i), Definition{Key: fmt.Sprintf("rhs_h%d", i), Symbol: fmt.Sprintf("Rhs,h%d", i), Name: fmt.Sprintf("local hue shift, hue bin %d", i), Unit: "1", Source: tm30, Scope: scopeFidelity, Group: Fidelity, Decimals: 2})
	}
	for i := 1; i <= FidelitySamples; i++ {
		set(RfSample(i), Definition{Key: fmt.Sprintf("rf_ces%d", i), Symbol: fmt.Sprintf("Rf,CES%02d", i), Name: fmt.Sprintf("colour fidelity of evaluation sample %d", i), Source: cie224, Scope: scopeFidelity, Group: Fidelity, Decimals: 0, Detail: true})
	}
	set(SSI, Definition{Key: "ssi", Symbol: "SSI", Name: "spectral similarity to the reference at the same CCT", Source: "SMPTE ST 2122:2020", Scope: scopeWhite, Group: Similarity, Decimals: 0})

	set(SPRatio, Definition{Key: "sp_ratio", Symbol: "S/P", Name: "scotopic to photopic ratio", Source: "CIE 191:2010", Group: Eye, Decimals: 2})
	set(MesopicLuminance, Definition{Key: "mesopic_luminance", Symbol: "Lmes", Name: "mesopic luminance at the stated adaptation", Unit: "cd/m²", Source: "CIE 191:2010", Scope: "needs the photopic adaptation luminance, which is the user's to state", Group: Eye, Significant: 3})
	der := func(id, edi ID, key, symbol, name string) {
		set(id, Definition{Key: key + "_der", Symbol: symbol + "-DER", Name: name + " daylight (D65) efficacy ratio", Source: cieS026 + " 3.10", Group: Eye, Decimals: 3})
		set(edi, Definition{Key: key + "_edi", Symbol: symbol + "-EDI", Name: name + " equivalent daylight (D65) illuminance", Unit: "lx", Source: cieS026 + " 3.9", Scope: "needs an irradiance spectrum", Group: Eye, Significant: 3, Detail: true})
	}
	der(MelDER, MelEDI, "mel", "mel", "melanopic")
	der(SConeDER, SConeEDI, "s_cone", "S-cone", "S-cone-opic")
	der(MConeDER, MConeEDI, "m_cone", "M-cone", "M-cone-opic")
	der(LConeDER, LConeEDI, "l_cone", "L-cone", "L-cone-opic")
	der(RhodopicDER, RhodopicEDI, "rhodopic", "rh", "rhodopic")

	set(PhotonFlux, Definition{Key: "photon_flux", Symbol: "Φp", Name: "photon flux, 400–700 nm", Unit: "µmol/s", Source: own, Scope: scopeFlux, Group: Plant, Significant: 3})
	set(PhotonEfficacy, Definition{Key: "photon_efficacy_of_radiation", Symbol: "Kp", Name: "photons 400–700 nm per covered radiant energy", Unit: "µmol/J", Source: own, Group: Plant, Decimals: 2})

	share := func(id ID, key, name string, detail bool) {
		set(id, Definition{Key: key, Symbol: "", Name: name, Unit: "1", Source: ilv, Scope: "of the radiation within the covered range", Group: Shares, Decimals: 1, Percent: true, Detail: detail})
	}
	share(ShareUV, "share_uv", "below 380 nm", false)
	share(ShareVisible, "share_visible", "visible, 380–780 nm", false)
	share(ShareIR, "share_ir", "above 780 nm", false)
	share(ShareUVC, "share_uvc", "UV-C, 100–280 nm", true)
	share(ShareUVB, "share_uvb", "UV-B, 280–315 nm", true)
	share(ShareUVA, "share_uva", "UV-A, 315–400 nm", true)
	share(ShareIRA, "share_ira", "IR-A, 780–1400 nm", true)
	return d
})

var byKey = sync.OnceValue(func() map[string]ID {
	m := make(map[string]ID, Count)
	for _, d := range register() {
		m[d.Key] = d.ID
	}
	return m
})

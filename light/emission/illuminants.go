package emission

// StatedFamily returns the kind of lamp, one of the Family constants, that CIE
// 15:2018 says an illuminant stands for. It is what the analysis is held
// against, never what it looks at.
func StatedFamily(illuminant string) (key string, ok bool) {
	key, ok = statedFamilies[illuminant]
	return key, ok
}

// statedFamilies are the kinds of lamp that CIE 15:2018 says its illuminants stand
// for: tables 10.1 (FL1–6 standard, FL7–9 broad-band, FL10–12 three narrow
// bands), 10.2 (FL3.1–3 standard halophosphate, 4–6 de luxe, 7–11 three-band,
// 12–14 multi-band, 15 daylight simulator), 11 (HP1 standard and HP2
// colour-enhanced high-pressure sodium, HP3–5 metal halide) and 12 (LED-B blue
// pump and phosphor, BH the same with a red diode, RGB mixed, V violet pump and
// phosphor).
var statedFamilies = map[string]string{
	"A": FamilyIncandescent, "C": FamilyDaylight, "D65": FamilyDaylight, "D50": FamilyDaylight,
	"FL1": FamilyHalophosphate, "FL2": FamilyHalophosphate, "FL3": FamilyHalophosphate,
	"FL4": FamilyHalophosphate, "FL5": FamilyHalophosphate, "FL6": FamilyHalophosphate,
	"FL7": FamilyMultiband, "FL8": FamilyMultiband, "FL9": FamilyMultiband,
	"FL10": FamilyTriphosphor, "FL11": FamilyTriphosphor, "FL12": FamilyTriphosphor,
	"FL3.1": FamilyHalophosphate, "FL3.2": FamilyHalophosphate, "FL3.3": FamilyHalophosphate,
	"FL3.4": FamilyMultiband, "FL3.5": FamilyMultiband, "FL3.6": FamilyMultiband,
	"FL3.7": FamilyTriphosphor, "FL3.8": FamilyTriphosphor, "FL3.9": FamilyTriphosphor,
	"FL3.10": FamilyTriphosphor, "FL3.11": FamilyTriphosphor,
	"FL3.12": FamilyMultiband, "FL3.13": FamilyMultiband, "FL3.14": FamilyMultiband, "FL3.15": FamilyMultiband,
	"HP1": FamilyHPS, "HP2": FamilyHPS,
	"HP3": FamilyMetalHalide, "HP4": FamilyMetalHalide, "HP5": FamilyMetalHalide,
	"LED-B1": FamilyLEDPhosphor, "LED-B2": FamilyLEDPhosphor, "LED-B3": FamilyLEDPhosphor,
	"LED-B4": FamilyLEDPhosphor, "LED-B5": FamilyLEDPhosphor, "LED-BH1": FamilyLEDPhosphor,
	"LED-RGB1": FamilyLEDMixed, "LED-V1": FamilyLEDPhosphor, "LED-V2": FamilyLEDPhosphor,
}

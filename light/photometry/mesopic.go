package photometry

import (
	"errors"
	"fmt"
	"math"
)

// The mesopic system MES2 of CIE 191:2010, as remembered: the adaptation
// coefficient m = a + b·lg(L_mes), held to 0 and 1, and V′ at 555 nm, 683/1699.
// The ends are L_mes = 0.005 and 5 cd/m².
const (
	mesopicA      = 0.7670
	mesopicB      = 0.3334
	mesopicVPrime = 683.0 / 1699
)

// ErrMesopicDiverges is returned by [Mesopic] where the iteration does not
// settle, as at very high S/P ratios (deep blue light).
var ErrMesopicDiverges = errors.New("photometry: the mesopic iteration of CIE 191 does not settle for this S/P ratio and luminance")

// Mesopic returns the mesopic luminance L_mes in cd/m² and the adaptation
// coefficient m for a photopic luminance of the adaptation field in cd/m² and
// the S/P ratio of its light (CIE 191:2010), by that report's iteration from m =
// 0.5. L_mes is the photopic luminance from 5 cd/m² on (m = 1) and the scotopic
// one where that is 0.005 cd/m² or less (m = 0). An S/P ratio of 1 changes
// nothing, exactly. The error is [ErrMesopicDiverges] where the iteration does
// not settle; other errors name an input that is no luminance or no ratio.
func Mesopic(photopic, sp float64) (luminance, m float64, err error) {
	if !(photopic > 0) || math.IsInf(photopic, 0) {
		return 0, 0, fmt.Errorf("photometry: mesopic luminance needs a positive photopic luminance, not %g cd/m²", photopic)
	}
	if !(sp >= 0) || math.IsInf(sp, 0) {
		return 0, 0, fmt.Errorf("photometry: mesopic luminance needs an S/P ratio of 0 or more, not %g", sp)
	}
	m = 0.5
	for range 1000 {
		rod := (1 - m) * mesopicVPrime
		luminance = photopic * ((m + rod*sp) / (m + rod))
		next := min(max(mesopicA+mesopicB*math.Log10(luminance), 0), 1)
		if math.Abs(next-m) <= 1e-13 {
			return luminance, next, nil
		}
		m = next
	}
	return 0, 0, ErrMesopicDiverges
}

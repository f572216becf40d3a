package instrument

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"lampassay/assay/uncertainty"
	"lampassay/light/calibration"
)

// axisErrors refits the calibration's law to its lines for the covariance of the
// axis, at the level that the file states between the outermost lines. ok is
// false where the file has too few lines for that.
func axisErrors(w *calibration.Wavelength) (e uncertainty.AxisErrors, ok bool) {
	d := &w.Dispersion
	n := len(d.Coefficients)
	normal := mat.NewSymDense(n, nil)
	used := 0
	for _, l := range w.Lines {
		if !l.Used {
			continue
		}
		used++
		// What the fit itself takes a line to be known to: a hundredth of a pixel
		// and a two-hundredth of the bandwidth at best.
		u := math.Hypot(math.Hypot(l.UNm, 0.01*d.Slope(l.Pixel)), w.Bandwidth.AtMiddleNm/200)
		normal.SymRankOne(normal, 1/(u*u), mat.NewVecDense(n, lawRow(d, l.Pixel)))
	}
	var chol mat.Cholesky
	covariance := mat.NewSymDense(n, nil)
	if used <= n || !chol.Factorize(normal) || chol.InverseTo(covariance) != nil || !chol.Factorize(covariance) {
		return e, false
	}
	var root mat.TriDense
	chol.LTo(&root)
	at := func(pixel float64) []float64 {
		var v mat.VecDense
		v.MulVec(root.T(), mat.NewVecDense(n, lawRow(d, pixel)))
		return v.RawVector().Data
	}
	first, last := d.PixelAt(w.FromNm), d.PixelAt(w.ToNm)
	largest := 0.0
	for i := range 17 {
		sum := 0.0
		for _, v := range at(first + (last-first)*float64(i)/16) {
			sum += v * v
		}
		largest = max(largest, math.Sqrt(sum))
	}
	if !(largest > 0) {
		return e, false
	}
	e.Curves = make([][]float64, n)
	const points = 128
	for i := range points {
		pixel := float64(d.Pixels-1) * float64(i) / (points - 1)
		e.Nm = append(e.Nm, d.At(pixel))
		for j, v := range at(pixel) {
			e.Curves[j] = append(e.Curves[j], v*w.UNm/largest)
		}
	}
	return e, true
}

// lawRow is how the wavelength at a pixel depends on the constants of its law: the
// powers of x, or the grating equation's functions of u with kappa as found.
func lawRow(d *calibration.Dispersion, pixel float64) []float64 {
	middle := float64(d.Pixels-1) / 2
	x := (pixel - middle) / middle
	row := make([]float64, len(d.Coefficients))
	if d.Model == calibration.Grating {
		u := d.Kappa * x
		cos := 1 / math.Sqrt(1+u*u)
		row[0], row[1], row[2] = 1, (1-cos)/(d.Kappa*d.Kappa), u*cos/d.Kappa
		return row
	}
	power := 1.0
	for i := range row {
		row[i] = power
		power *= x
	}
	return row
}

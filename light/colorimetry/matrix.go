package colorimetry

// matrix is a linear map of three values, row by row.
type matrix [3][3]float64

func (m *matrix) apply(x, y, z float64) (a, b, c float64) {
	return m[0][0]*x + m[0][1]*y + m[0][2]*z,
		m[1][0]*x + m[1][1]*y + m[1][2]*z,
		m[2][0]*x + m[2][1]*y + m[2][2]*z
}

// times returns the map that applies n first and then m.
func (m matrix) times(n matrix) (p matrix) {
	for i := range p {
		for j := range p[i] {
			p[i][j] = m[i][0]*n[0][j] + m[i][1]*n[1][j] + m[i][2]*n[2][j]
		}
	}
	return p
}

// inverse returns the map that undoes m, by cofactors.
func (m matrix) inverse() (p matrix) {
	for i := range p {
		for j := range p[i] {
			r, s := (j+1)%3, (j+2)%3
			c, d := (i+1)%3, (i+2)%3
			p[i][j] = m[r][c]*m[s][d] - m[r][d]*m[s][c]
		}
	}
	det := m[0][0]*p[0][0] + m[0][1]*p[1][0] + m[0][2]*p[2][0]
	for i := range p {
		for j := range p[i] {
			p[i][j] /= det
		}
	}
	return p
}

func diagonal(a, b, c float64) matrix { return matrix{{a, 0, 0}, {0, b, 0}, {0, 0, c}} }

package webapp

import (
	"cmp"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"lampassay/light/calibration"
)

// Pairing by hand. An address says pair=PIXEL:NM for each pair that was given and
// without=PIXEL for each peak that is left out, so that it can be loaded again,
// sent on, and undone by going back. Lists on the page say as=PIXEL:NM, which
// becomes a pair.

// mostGiven is far more than anybody gives.
const mostGiven = 200

// givenPairs reads the pairs of an address.
func givenPairs(ask url.Values) (pairs []calibration.GivenPair, err error) {
	if len(ask["pair"]) > mostGiven {
		return nil, bad("That is more than the %d pairs taken at a time.", mostGiven)
	}
	for _, text := range ask["pair"] {
		peak, line, _ := strings.Cut(text, ":")
		pixel, errPixel := strconv.ParseFloat(peak, 64)
		nm, errNm := strconv.ParseFloat(line, 64)
		if errPixel != nil || errNm != nil {
			return nil, bad("A pair is written like 812.3:546.075, the pixel of a peak and the wavelength of its line in nm, and not %q.", labelOf(text))
		}
		pairs = append(pairs, calibration.GivenPair{Pixel: pixel, Nm: nm})
	}
	return pairs, nil
}

// withChoices turns what was chosen from the lists into pairs. A peak has one line and
// a line one peak: what was said last counts.
func withChoices(ask url.Values) url.Values {
	next := url.Values{}
	for key, all := range ask {
		if key != "as" {
			next[key] = slices.Clone(all)
		}
	}
	for _, text := range ask["as"] {
		peak, line, has := strings.Cut(text, ":")
		if !has {
			continue // as found
		}
		next["pair"] = slices.DeleteFunc(next["pair"], func(other string) bool {
			p, l, _ := strings.Cut(other, ":")
			return p == peak || l == line
		})
		next.Add("pair", text)
	}
	return next
}

// givenPair is a pair of an address, in words.
type givenPair struct{ Value, Pixel, Line string }

func namedPairs(ask url.Values, lamp *calibration.Lamp) (all []givenPair) {
	for _, text := range ask["pair"] {
		peak, line, _ := strings.Cut(text, ":")
		g := givenPair{text, peak, line + " nm"}
		for _, l := range lamp.Lines {
			if plain(l.Nm) == line {
				g.Line = fmt.Sprintf("%s %.3f", l.Emitter, l.Nm)
			}
		}
		all = append(all, g)
	}
	return all
}

// peakRow is a peak with what it was paired with, and what it could be.
type peakRow struct {
	Key          string                  // the pixel as a pair says it
	At           int                     // the pixel as leaving out says it
	Line         *calibration.AnchorLine // nil for none
	Note         string                  // what is the matter with a peak that has none
	Near, Others []lineChoice
	peak         calibration.Peak
}

// lineChoice is a line that a peak can be said to be.
type lineChoice struct{ Value, Label string }

const (
	// nearLines are offered first, the others below.
	nearLines = 12
	// tallShare of the tallest is what a peak without a line has to have to be
	// listed: below that they are many, and few are lines.
	tallShare = 0.02
)

// peakRows lists the peaks that have a line and the tall ones that have none, by
// pixel.
func peakRows(seen *calibration.Sighting, made *calibration.Wavelength) (rows []peakRow) {
	tallest := 0.0
	for i := range seen.Peaks {
		tallest = max(tallest, seen.Peaks[i].Height())
	}
	for _, p := range seen.Peaks {
		row := peakRow{Key: strconv.FormatFloat(p.Pixel, 'f', 1, 64), At: int(p.Pixel + 0.5), peak: p}
		if made != nil {
			if at := slices.IndexFunc(made.Lines, func(l calibration.AnchorLine) bool { return l.Pixel == p.Pixel }); at >= 0 {
				row.Line = &made.Lines[at]
			}
		}
		switch {
		case row.Line != nil:
		case p.Height() < tallShare*tallest:
			continue
		case p.Saturated:
			row.Note = "saturated, so its centre is unknown"
		case p.Broad:
			row.Note = "wider than one line"
		case made != nil:
			row.Note = "the search found none"
		}
		if !p.Saturated {
			row.offer(seen.Lines)
		}
		rows = append(rows, row)
	}
	return rows
}

// offer lists the lines that a peak could be, the nearest first.
func (r *peakRow) offer(lines []calibration.Sighted) {
	near := slices.Clone(lines)
	slices.SortStableFunc(near, func(a, b calibration.Sighted) int {
		return cmp.Compare(math.Abs(a.Pixel-r.peak.Pixel), math.Abs(b.Pixel-r.peak.Pixel))
	})
	few := near[:min(nearLines, len(near))]
	for _, l := range few {
		r.Near = append(r.Near, lineChoice{r.Key + ":" + plain(l.LineNm), l.Name})
	}
	for _, l := range lines {
		if !slices.ContainsFunc(few, func(n calibration.Sighted) bool { return n.LineNm == l.LineNm }) {
			r.Others = append(r.Others, lineChoice{r.Key + ":" + plain(l.LineNm), l.Name})
		}
	}
}

// What says how a peak stands.
func (r *peakRow) What() string {
	switch {
	case r.Line == nil && r.Note != "":
		return "no line: " + r.Note
	case r.Line == nil:
		return "no line"
	case r.Line.Given:
		return "given"
	case r.Line.Used:
		return "found"
	}
	return "not used: " + r.Line.Why
}

// Said is what a peak's handle says of it.
func (r *peakRow) Said() string {
	if r.Line == nil {
		return r.What()
	}
	return fmt.Sprintf("%s, residual %s nm, %s", r.Line.Line, signed(r.Line.ResidualNm), r.What())
}

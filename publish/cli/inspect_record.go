package cli

import (
	"path/filepath"

	"lampassay/bench/ingest"
	"lampassay/light/calibration"
)

// The record of an inspection. A figure that does not exist is null.
type (
	inspectJSON struct {
		File     string          `json:"file"`
		SHA256   string          `json:"sha256"`
		Preview  *ingest.Preview `json:"preview"`
		Usable   bool            `json:"usable"` // no gate refuses it
		Findings []findingJSON   `json:"findings"`
	}
	findingJSON struct {
		Gate     string      `json:"gate"`
		Severity string      `json:"severity"`
		Figure   *float64    `json:"figure"`
		Limit    *float64    `json:"limit"`
		Unit     string      `json:"unit"`
		Text     string      `json:"text"`
		Remedy   string      `json:"remedy"`
		Change   *changeJSON `json:"change"`
	}
	changeJSON struct {
		Flux *float64 `json:"flux_relative"`
		CCT  *float64 `json:"cct_k"`
		Duv  *float64 `json:"duv"`
		Ra   *float64 `json:"ra"`
	}
)

func inspectRecord(name, sum string, p *ingest.Preview, found []weighed) *inspectJSON {
	j := &inspectJSON{File: filepath.Base(name), SHA256: sum, Preview: p, Usable: true, Findings: []findingJSON{}}
	for _, f := range found {
		j.Usable = j.Usable && f.Severity != calibration.Refusal
		one := findingJSON{f.Gate, f.Severity.String(), number(f.Figure), number(f.Limit), f.Unit, f.Text, f.Remedy, nil}
		if f.known {
			// A change of what the curve does not have is no number.
			where := func(now, change float64) *float64 { return number(change + 0*now) }
			one.Change = &changeJSON{where(f.now.Flux, f.change.Flux), where(f.now.CCT, f.change.CCT), where(f.now.Duv, f.change.Duv), where(f.now.Ra, f.change.Ra)}
		}
		j.Findings = append(j.Findings, one)
	}
	return j
}

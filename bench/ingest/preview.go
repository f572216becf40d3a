package ingest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
)

// How much a preview shows.
const (
	previewLines  = 5   // above the cut and below it
	previewBytes  = 200 // of a line
	previewCurves = 3
	previewValues = 5
)

// Preview is the beginning of a file and what the reader makes of it: enough to
// see whether it was understood.
type Preview struct {
	Before []Line  `json:"before"` // the last lines above the data
	Data   []Line  `json:"data"`   // the first lines of data; of a document, its first lines
	Curves []Curve `json:"curves"` // the first ones
	Report Report  `json:"report"`
}

// Line is a line of a file, or its beginning. A spreadsheet's rows are lines.
type Line struct {
	Number int    `json:"line"` // from 1
	Text   string `json:"text"`
}

// Curve is the beginning of a spectrum.
type Curve struct {
	Name   string    `json:"name"`
	Nm     []float64 `json:"nm"`
	Values []float64 `json:"values"` // in the SI unit of the report's quantity
}

// Look reads a file as [Read], [ReadSeries] or [OpenWide] would, whichever it is
// for, and returns its beginning. Where the error is a [*Problem] the preview
// still has the lines, and the report as far as the reader came: both show what
// an option would put right.
func Look(name string, r io.Reader, o Options) (*Preview, error) {
	raw, _, err := ReadWhole(name, r, o.maxBytes())
	if err != nil {
		return nil, err
	}
	p := new(Preview)
	if o.Recipe != nil {
		return lookByRecipe(name, raw, o)
	}
	text, problem := textOf(raw, &o, &p.Report)
	if problem != nil {
		problem.File = filepath.Base(name)
		return p, problem
	}
	problem = p.look(name, raw, text, &o)
	p.lines(text)
	if problem != nil {
		problem.File = filepath.Base(name)
		return p, problem
	}
	return p, nil
}

// lookByRecipe is [Look] by a recipe. Where the file does not suit it, a reading
// without it tells what the file is instead.
func lookByRecipe(name string, raw []byte, o Options) (*Preview, error) {
	plain, err := o.plainOptions()
	if err != nil {
		return nil, err
	}
	p, err := Look(name, bytes.NewReader(raw), plain)
	if err != nil {
		free := Options{Axis: o.Axis, MaxBytes: o.MaxBytes, MaxValues: o.MaxValues}
		if other, failed := Look(name, bytes.NewReader(raw), free); failed == nil {
			if differs := o.Recipe.Check(name, &other.Report); differs != nil {
				return other, differs
			}
		}
		return p, err
	}
	return p, o.Recipe.Check(name, &p.Report)
}

// look reads the file and keeps the first values.
func (p *Preview) look(name string, raw, text []byte, o *Options) *Problem {
	lines, _ := splitLines(text, 4*maxLines)
	if !isTree(text) && otherLayout(lines, o) != nil {
		s := &Series{Name: name}
		problem := s.read(raw, o)
		p.Report = s.Report
		for i := range s.Values[:min(len(s.Values), previewCurves)] {
			if problem == nil {
				p.add(fmt.Sprintf("%g s", s.Times[i]), s.Axis, s.Values[i])
			}
		}
		return problem
	}
	w, err := OpenWide(name, bytes.NewReader(raw), int64(len(raw)), *o)
	if err == nil {
		p.Report = w.Report
		for b, err := range w.Blocks(context.Background(), previewCurves) {
			if err != nil {
				return &Problem{Found: "columns that cannot be read", Want: err.Error()}
			}
			values, errs := make([]float64, b.Columns()*len(w.Axis)), make([]error, b.Columns())
			b.Parse(values, errs)
			for c, name := range b.Names {
				if errs[c] == nil {
					p.add(name, w.Axis, values[c*len(w.Axis):])
				}
			}
			break
		}
		return nil
	}
	f := &File{Name: name}
	problem := f.read(raw, o)
	p.Report = f.Report
	if problem == nil {
		p.add(filepath.Base(name), f.Spectrum.Axis(), f.Spectrum.Values())
		return nil
	}
	// Of two readers that fail, the one whose file it is says why.
	var wide *Problem
	if errors.As(err, &wide) && p.Report.Format == "" {
		return wide
	}
	return problem
}

func (p *Preview) add(name string, nm, values []float64) {
	n := min(len(nm), previewValues)
	p.Curves = append(p.Curves, Curve{name, append([]float64(nil), nm[:n]...), append([]float64(nil), values[:n]...)})
}

// lines shows the text around the cut.
func (p *Preview) lines(text []byte) {
	first := max(p.Report.FirstLine, 1)
	all, _ := splitLines(text, first-1+previewLines)
	for i := max(first-1-previewLines, 0); i < len(all); i++ {
		t := toText(all[i].text)
		if len(t) > previewBytes {
			t = strings.ToValidUTF8(t[:previewBytes], "") + "…"
		}
		if line := (Line{i + 1, t}); i+1 < first {
			p.Before = append(p.Before, line)
		} else {
			p.Data = append(p.Data, line)
		}
	}
}

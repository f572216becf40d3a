package standards

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"io/fs"
	"math"
	"path"
	"strconv"
	"strings"
)

//go:embed data/*.csv
var files embed.FS

// Table is one published table as it is carried: where it comes from, and its
// figures by column. Nm is the first column.
type Table struct {
	Name    string // file name without extension
	Title   string
	Source  string // the publication to cite
	DOI     string // of the publisher's data set, where there is one
	Licence string
	Changed string // what was changed against the publisher's form
	SHA256  string // of the figures, hexadecimal

	Columns []string // names of the columns after the first
	Nm      []float64
	Data    [][]float64 // Data[c][i] belongs to Columns[c] and Nm[i]
	text    [][]string  // the same, uninterpreted
}

// Tables reads and checks every table that is compiled in.
func Tables() ([]*Table, error) {
	names, err := fs.Glob(files, "data/*.csv")
	if err != nil {
		return nil, fmt.Errorf("standards: %w", err)
	}
	var all []*Table
	for _, n := range names {
		t, err := load(strings.TrimSuffix(path.Base(n), ".csv"))
		if err != nil {
			return nil, err
		}
		all = append(all, t)
	}
	return all, nil
}

// load reads one table that is compiled in.
func load(name string) (*Table, error) {
	raw, err := files.ReadFile("data/" + name + ".csv")
	if err != nil {
		return nil, fmt.Errorf("standards: table %s: %w", name, err)
	}
	return parse(name, raw)
}

// parse reads a table from its file's bytes and checks its seal.
func parse(name string, raw []byte) (*Table, error) {
	t := &Table{Name: name}
	for bytes.HasPrefix(raw, []byte("# ")) {
		line, rest, _ := bytes.Cut(raw, []byte("\n"))
		key, value, _ := strings.Cut(string(line[2:]), ": ")
		switch key {
		case "title":
			t.Title = value
		case "source":
			t.Source = value
		case "doi":
			t.DOI = value
		case "licence":
			t.Licence = value
		case "changed":
			t.Changed = value
		case "sha256":
			t.SHA256 = value
		default:
			return nil, fmt.Errorf("standards: table %s: unknown head line %q", name, key)
		}
		raw = rest
	}
	if sum := sha256.Sum256(raw); hex.EncodeToString(sum[:]) != t.SHA256 {
		return nil, fmt.Errorf("standards: table %s: the figures do not match their seal", name)
	}
	rows, err := csv.NewReader(bytes.NewReader(raw)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("standards: table %s: %w", name, err)
	}
	if len(rows) < 2 {
		return nil, fmt.Errorf("standards: table %s: no figures", name)
	}
	t.Columns, t.text = rows[0][1:], rows[1:]
	t.Data = make([][]float64, len(t.Columns))
	for i, row := range t.text {
		nm, err := strconv.ParseFloat(row[0], 64)
		if err != nil || (i > 0 && name != "lines" && nm <= t.Nm[i-1]) {
			return nil, fmt.Errorf("standards: table %s: row %d: wavelength %q", name, i+1, row[0])
		}
		t.Nm = append(t.Nm, nm)
		for c, cell := range row[1:] {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				if name != "lines" {
					return nil, fmt.Errorf("standards: table %s: row %d: %q is not a number", name, i+1, cell)
				}
				v = math.NaN() // a name, not a figure: see text
			}
			t.Data[c] = append(t.Data[c], v)
		}
	}
	return t, nil
}

// mustLoad is load for the typed functions: a table compiled into the program
// is either right or the program was built wrong.
func mustLoad(name string) *Table {
	t, err := load(name)
	if err != nil {
		panic(err)
	}
	return t
}

// column returns a column by name.
func (t *Table) column(name string) []float64 {
	for c, n := range t.Columns {
		if n == name {
			return t.Data[c]
		}
	}
	panic("standards: table " + t.Name + " has no column " + name)
}

// Cite returns the source with its DOI, for a foot of a page or a NOTICE.
func (t *Table) Cite() string {
	if t.DOI == "" {
		return t.Source
	}
	return t.Source + ", doi:" + t.DOI
}

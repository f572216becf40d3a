package cli

import (
	"encoding/csv"
	"errors"
	"io"
	"path/filepath"
	"strings"

	"lampassay/bench/ingest"
	"lampassay/light/limits"
)

// readEmitters reads a list of emitters: lines of name, wall-plug efficiency and
// spectrum file, the file's place relative to the list.
func readEmitters(name string) ([]limits.Emitter, error) {
	f, _, err := openFile(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	base := filepath.Base(name)
	rows := csv.NewReader(f)
	rows.FieldsPerRecord = -1
	rows.TrimLeadingSpace = true
	rows.Comment = '#'
	var all []limits.Emitter
	for {
		row, err := rows.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		line, _ := rows.FieldPos(0)
		if err != nil {
			return nil, badInput("%s: line %d cannot be read as name,efficiency,file", base, line)
		}
		if len(row) != 3 {
			return nil, badInput("%s: line %d has %d fields: it is name,efficiency,file", base, line, len(row))
		}
		if len(all) == 0 && strings.EqualFold(strings.TrimSpace(row[1]), "efficiency") {
			continue
		}
		efficiency, err := parseNumber(row[1])
		if err != nil || !(efficiency > 0 && efficiency <= 1) {
			return nil, badInput("%s: line %d: the efficiency %q is not a share above 0 and up to 1", base, line, row[1])
		}
		path := strings.TrimSpace(row[2])
		if !filepath.IsAbs(path) {
			path = filepath.Join(filepath.Dir(name), path)
		}
		e, err := readEmitter(row[0], path)
		if err != nil {
			return nil, err
		}
		e.Efficiency = efficiency
		all = append(all, e)
	}
	if len(all) == 0 {
		return nil, badInput("%s lists no emitter: each line is name,efficiency,file", base)
	}
	return all, nil
}

func readEmitter(name, path string) (limits.Emitter, error) {
	src, err := openSource(streams{}, path)
	if err != nil {
		return limits.Emitter{}, err
	}
	defer src.Close()
	file, err := src.single(ingest.Options{})
	if err != nil {
		return limits.Emitter{}, err
	}
	return limits.Emitter{Name: name, Spectrum: file.Spectrum}, nil
}

package ingest

import (
	"bytes"
	"math"
	"slices"
	"testing"
)

func TestATableKeepsItsHolesAndItsLines(t *testing.T) {
	got, problem := ReadTable([]byte("Model;invented\n\nt;V\n0,5;1\n\n0,6;OL\n0,8;2\n"), 100)
	if problem != nil {
		t.Fatal(problem)
	}
	if len(got.Above) != 2 || !slices.Equal(got.Above[1], []string{"t", "V"}) || !slices.Equal(got.Lines, []int{4, 6, 7}) {
		t.Errorf("%q, lines %v", got.Above, got.Lines)
	}
	if v := got.Columns[1]; len(v) != 3 || v[0] != 1 || !math.IsNaN(v[1]) || v[2] != 2 {
		t.Errorf("%v", got.Columns)
	}
}

func FuzzTable(f *testing.F) {
	seed(f)
	f.Add([]byte("1\n2\n\n3\n"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		table, problem := ReadTable(bytes.ToValidUTF8(raw, nil), 1000)
		if problem != nil {
			problem.File = "x"
			checkProblem(t, problem)
			return
		}
		if len(table.Lines) == 0 || len(table.Columns) == 0 {
			t.Fatalf("%d rows, %d columns", len(table.Lines), len(table.Columns))
		}
		for c, column := range table.Columns {
			if len(column) != len(table.Lines) || slices.ContainsFunc(column, func(v float64) bool { return math.IsInf(v, 0) }) {
				t.Fatalf("column %d: %v", c, column)
			}
		}
	})
}

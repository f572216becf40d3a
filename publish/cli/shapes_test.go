package cli

import (
	"archive/zip"
	"bytes"
	"os"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/xuri/excelize/v2"
)

// mkzip ARCHIVE FILES... packs files.
func makeArchive(ts *testscript.TestScript, _ bool, args []string) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, name := range args[1:] {
		w, err := z.Create(name)
		ts.Check(err)
		_, err = w.Write([]byte(ts.ReadFile(name)))
		ts.Check(err)
	}
	ts.Check(z.Close())
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), b.Bytes(), 0o644))
}

// mksheet SPREADSHEET FILE makes a spreadsheet of a comma-separated file.
func makeSheet(ts *testscript.TestScript, _ bool, args []string) {
	book := excelize.NewFile()
	defer book.Close()
	for r, line := range strings.Split(strings.TrimSpace(ts.ReadFile(args[1])), "\n") {
		for c, cell := range strings.Split(line, ",") {
			at, err := excelize.CoordinatesToCellName(c+1, r+1)
			ts.Check(err)
			ts.Check(book.SetCellDefault("Sheet1", at, cell))
		}
	}
	ts.Check(book.SaveAs(ts.MkAbs(args[0])))
}

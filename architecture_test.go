// Package lampassay_test checks the house as a whole: who may import whom, and
// what NOTICE must name.
package lampassay_test

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const module = "lampassay"

// The wings from the ground up. A package imports its own wing and those below.
var wings = []string{"light", "assay", "bench", "publish", "cmd"}

// wingOf returns the storey of a package of this module, −1 where it is in no
// wing.
func wingOf(pkg string) int {
	first, _, _ := strings.Cut(pkg, "/")
	return slices.Index(wings, first)
}

// fault says what is wrong with a file in folder dir that imports pkg, both
// relative to the module; "" if nothing is.
func fault(dir, pkg string) string {
	from, to := wingOf(dir), wingOf(pkg)
	switch {
	case from < 0:
		return "is in no wing"
	case to < 0:
		return "imports " + pkg + ", which is in no wing"
	case to > from:
		return "imports " + pkg + ", which is above it"
	}
	return ""
}

func TestImportsPointDown(t *testing.T) {
	files := 0
	err := fs.WalkDir(os.DirFS("."), ".", func(name string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		base := path.Base(name)
		if entry.IsDir() {
			if name != "." && (base[0] == '.' || base[0] == '_' || base == "testdata" || base == "node_modules") {
				return fs.SkipDir
			}
			return nil
		}
		dir := path.Dir(name)
		if path.Ext(name) != ".go" || dir == "." && strings.HasSuffix(base, "_test.go") {
			return nil // the root holds these tests and nothing else
		}
		files++
		if wingOf(dir) < 0 {
			t.Errorf("%s is in no wing", name)
		}
		source, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), name, source, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, spec := range parsed.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			pkg, ours := strings.CutPrefix(imported, module+"/")
			if !ours {
				continue
			}
			if f := fault(dir, pkg); f != "" {
				t.Errorf("%s %s", name, f)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files == 0 {
		t.Fatal("no Go file was found")
	}
}

func TestAnImportThatPointsUpIsAFault(t *testing.T) {
	for _, c := range []struct{ dir, pkg, want string }{
		{"cmd/lampassay", "publish/cli", ""},
		{"publish/cli", "light/spectrum", ""},
		{"light/standards", "light/spectrum", ""},
		{"assay", "assay/quantity", ""},
		{"light/spectrum", "assay/quantity", "imports assay/quantity, which is above it"},
		{"bench/ingest", "publish/cli", "imports publish/cli, which is above it"},
		{"assay", "cmd/lampassay", "imports cmd/lampassay, which is above it"},
		{"tools", "light/spectrum", "is in no wing"},
		{"assay", "lighting/x", "imports lighting/x, which is in no wing"},
	} {
		if got := fault(c.dir, c.pkg); got != c.want {
			t.Errorf("%s importing %s: %q, want %q", c.dir, c.pkg, got, c.want)
		}
	}
}

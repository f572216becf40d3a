package cli

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// An assay that is interrupted among its draws leaves no page, no temporary file
// and no half of an answer.
func TestAnInterruptedAssayLeavesNothingHalfWritten(t *testing.T) {
	dir := t.TempDir()
	lamp, page := filepath.Join(dir, "lamp.csv"), filepath.Join(dir, "lamp.html")
	var table bytes.Buffer
	if code := Main(t.Context(), []string{"standard", "FL11"}, nil, &table, os.Stderr); code != exitDone {
		t.Fatalf("standard: exit code %d", code)
	}
	if err := os.WriteFile(lamp, table.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	defer time.AfterFunc(300*time.Millisecond, cancel).Stop()
	var out, errs bytes.Buffer
	// So many draws take a minute: the interruption comes among them.
	code := Main(ctx, []string{"assay", lamp, "--draws", "500000", "--json", "--sheet", page, "--figures", filepath.Join(dir, "figures")}, nil, &out, &errs)
	if code != exitMachine || out.Len() != 0 {
		t.Errorf("exit code %d with %d bytes of results, want %d and none", code, out.Len(), exitMachine)
	}
	if s := strings.TrimSpace(errs.String()); strings.Count(s, "\n") != 0 || !strings.Contains(s, "stopped") {
		t.Errorf("it said %q, want one sentence", s)
	}
	left, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(left) != 1 || left[0].Name() != "lamp.csv" {
		t.Errorf("left behind: %v", left)
	}
}

package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"lampassay/bench/notebook"
)

func TestABackupIsWholeWhileRecordingGoesOn(t *testing.T) {
	s := full(t)
	ctx, stop := context.WithCancel(t.Context())
	var wait sync.WaitGroup
	wait.Go(func() {
		for k := 0; ctx.Err() == nil; k++ {
			if _, err := s.Append(context.Background(), 1, []notebook.Reading{watts(float64(k))}); err != nil {
				t.Error(err)
			}
		}
	})
	folder := t.TempDir()
	for k := range 5 {
		path := filepath.Join(folder, fmt.Sprint(k))
		if err := s.Backup(t.Context(), path); err != nil {
			t.Fatal(err)
		}
		b, err := OpenReadOnly(t.Context(), path)
		if err != nil {
			t.Fatal(err)
		}
		if v := wantClean(t, b); v.Readings < 45 || v.Files != 2 {
			t.Errorf("the backup has %d readings and %d files", v.Readings, v.Files)
		}
		b.Close()
	}
	stop()
	wait.Wait()
	if err := s.Backup(t.Context(), filepath.Join(folder, "0")); notebook.CodeOf(err) != notebook.Invalid {
		t.Errorf("a backup over another: %v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(folder, ".lampassay-*")); len(left) > 0 {
		t.Errorf("%v was left behind", left)
	}
}

// TestVerifyFindsDamage does to a notebook what only a broken disk or a stranger
// does, past all its guards.
func TestVerifyFindsDamage(t *testing.T) {
	for name, c := range map[string]struct{ damage, says string }{
		"a reading's text":       {"UPDATE reading SET body = replace(body, 'W', 'V') WHERE id = (1 << 32) + 2", "reading 2 does not have its checksum"},
		"a reading's samples":    {"UPDATE reading SET packed = (SELECT packed FROM reading WHERE id = (1 << 32) + 3) WHERE id = (1 << 32) + 1", "reading 1 does not have its checksum"},
		"samples cut short":      {"UPDATE reading SET packed = substr(packed, 1, 9) WHERE id = (1 << 32) + 1", "reading 1 of sitting 1: packed samples"},
		"a reading taken out":    {"DELETE FROM reading WHERE id = (1 << 32) + 5", "reading 5 is missing"},
		"the last taken out":     {"DELETE FROM reading WHERE id = (1 << 32) + 45", "ends with reading 44 and should end with 45"},
		"two readings swapped":   {"UPDATE reading SET id = id + 1000 WHERE id = (1 << 32) + 7; UPDATE reading SET id = id - 1 WHERE id = (1 << 32) + 8; UPDATE reading SET id = (1 << 32) + 8 WHERE id = (1 << 32) + 1007", "does not have its checksum"},
		"wavelengths":            {"UPDATE axis SET packed = (SELECT packed FROM axis WHERE id = 2) WHERE id = 1", "sitting 1: packed samples"},
		"a photo":                {"UPDATE file SET bytes = x'00' WHERE media = 'image/jpeg'", "does not have its checksum"},
		"a photo taken out":      {"DELETE FROM file WHERE media = 'image/jpeg'", "tube.jpg"},
		"a record":               {"UPDATE lamp SET body = json_set(body, '$.name', 'Renamed') WHERE id = 1", "lamp 1 is not what the journal says"},
		"a record taken out":     {"DELETE FROM lamp WHERE id = 1", "sitting 1 refers to a missing lamp"},
		"a record in between":    {"UPDATE assay SET id = 9 WHERE id = 1", "assay 1 is missing"},
		"a change taken out":     {"DELETE FROM change WHERE kind = 'reference'", "the journal does not know the change"},
		"a change":               {"UPDATE change SET at = at + 1 WHERE seq = 3", "change 3 does not have its checksum"},
		"what a change replaced": {"UPDATE change SET before = replace(before, 'Tube', 'Pipe') || ' ' WHERE before IS NOT NULL", "does not have its checksum"},
		"out of the trash":       {"UPDATE lamp SET trashed = NULL", "the journal does not know the change"},
		"the type of a photo":    {"UPDATE file SET media = 'x x' WHERE media = 'image/jpeg'", "is of the type"},
		"a record without form":  {"UPDATE instrument SET body = '{\"name\":\"\"}'", "instrument 1: the instrument has no name"},
	} {
		t.Run(name, func(t *testing.T) {
			s := full(t)
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
			db, err := sql.Open("sqlite", source(s.path, "rw"))
			if err != nil {
				t.Fatal(err)
			}
			for _, statement := range append([]string{"DROP TRIGGER reading_is_kept", "DROP TRIGGER reading_stays", "DROP TRIGGER assay_is_kept"}, strings.Split(c.damage, "; ")...) {
				if _, err := db.Exec(statement); err != nil {
					t.Fatal(err)
				}
			}
			db.Close()
			if s, err = OpenReadOnly(t.Context(), s.path); err != nil {
				t.Fatal(err)
			}
			defer s.Close()
			v, err := s.Verify(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			if all := strings.Join(v.Faults, "\n"); !strings.Contains(all, c.says) {
				t.Errorf("verify says %q, want %q", all, c.says)
			}
		})
	}
}

func TestVerifyFindsADamagedPage(t *testing.T) {
	s := full(t)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(s.path)
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for page := 1; page < len(whole)/pageBytes; page++ {
		bad := slices.Clone(whole)
		for i := range 64 {
			bad[page*pageBytes+100+i] ^= 0xff
		}
		path := filepath.Join(t.TempDir(), "bad.notebook")
		if err := os.WriteFile(path, bad, 0o666); err != nil {
			t.Fatal(err)
		}
		r, err := OpenReadOnly(t.Context(), path)
		if err != nil {
			found++ // it does not even open
			continue
		}
		v, err := r.Verify(t.Context())
		if err != nil || len(v.Faults) > 0 {
			found++
		} else if b := export(t, r); string(b) != string(export(t, mustOpen(t, s.path))) {
			t.Errorf("page %d is damaged, verify finds nothing, and the archive differs", page)
		}
		r.Close()
	}
	if found == 0 {
		t.Error("no damage was found")
	}
}

package live

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

const spectrumText = "nm,W/m2/nm\n400,0.1\n500,0.2\n600,0.5\n700,0.1\n"

func write(t testing.TB, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// both runs a test with the system's notices and without.
func both(t *testing.T, run func(t *testing.T, f *Folder)) {
	t.Run("notices", func(t *testing.T) { run(t, &Folder{Name: "spec", Path: t.TempDir(), SettleS: 0.05}) })
	t.Run("looking", func(t *testing.T) { run(t, &Folder{Name: "spec", Path: t.TempDir(), SettleS: 0.05, deaf: true}) })
}

func TestADroppedFileIsReadOnceItIsWhole(t *testing.T) {
	both(t, func(t *testing.T, f *Folder) {
		write(t, filepath.Join(f.Path, "before.csv"), spectrumText)
		to := &shelf{}
		s := opened(t, to, Options{})
		start(t, s, f)
		until(t, "the watch to begin", func() bool { return standing(s, "spec").Connected })
		name := filepath.Join(f.Path, "one.csv")
		file, err := os.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range []string{spectrumText[:20], spectrumText[20:30], spectrumText[30:]} {
			if _, err := file.WriteString(part); err != nil {
				t.Fatal(err)
			}
			time.Sleep(20 * time.Millisecond)
		}
		file.Close()
		until(t, "the spectrum", func() bool { return len(to.of("spec")) == 1 })
		r := to.of("spec")[0]
		if r.Curve == nil || len(r.Curve.Samples) != 4 || r.Curve.Samples[2] != 0.5 || r.Curve.Quantity != "irradiance" {
			t.Errorf("%+v %+v", r, r.Curve)
		}
		if !strings.HasPrefix(r.Raw, "one.csv sha256:") || time.Since(r.At) > patience {
			t.Errorf("%q at %s", r.Raw, r.At)
		}
		// The same name with another measurement.
		write(t, name, strings.Replace(spectrumText, "0.5", "0.55", 1))
		until(t, "the second spectrum", func() bool { return len(to.of("spec")) == 2 })
		if v := to.of("spec")[1].Curve.Samples[2]; v != 0.55 {
			t.Errorf("%g", v)
		}
	})
}

func TestAFileThatIsTooLargeIsRefusedUnread(t *testing.T) {
	f := &Folder{Name: "spec", Path: t.TempDir(), SettleS: 0.05}
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, f)
	until(t, "the watch to begin", func() bool { return standing(s, "spec").Connected })
	large, err := os.Create(filepath.Join(f.Path, "large.csv"))
	if err != nil {
		t.Fatal(err)
	}
	if err := large.Truncate(1 << 30); err != nil { // takes no room on the disk
		t.Fatal(err)
	}
	large.Close()
	write(t, filepath.Join(f.Path, "good.csv"), spectrumText)
	until(t, "both", func() bool { return len(to.of("spec")) == 2 })
	flags := map[bool]string{}
	for _, r := range to.of("spec") {
		flags[r.Curve != nil] = strings.Join(r.Flags, ", ")
	}
	if flags[false] != tooLarge || flags[true] != "" {
		t.Errorf("%v", flags)
	}
	if !said(s, Trouble, "large.csv: 1024 MB are more than the 64 MB") {
		t.Error("the log does not say why")
	}
}

func TestWhatIsNoSpectrumIsFlaggedAndTheNextIsRead(t *testing.T) {
	f := &Folder{Name: "spec", Path: t.TempDir(), SettleS: 0.05}
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, f)
	until(t, "the watch to begin", func() bool { return standing(s, "spec").Connected })
	write(t, filepath.Join(f.Path, "a note.txt"), "the lamp hums\n")
	write(t, filepath.Join(f.Path, ".hidden.csv"), spectrumText)
	write(t, filepath.Join(f.Path, "half.csv.part"), spectrumText)
	if err := os.Mkdir(filepath.Join(f.Path, "folder.csv"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("/etc/hostname", filepath.Join(f.Path, "link.csv")); err != nil {
		t.Fatal(err)
	}
	until(t, "the note", func() bool { return len(to.of("spec")) == 1 })
	write(t, filepath.Join(f.Path, "run-up.csv"), "nm,00:00,00:10\n400,1,2\n500,3,4\n600,5,6\n")
	until(t, "the series", func() bool { return len(to.of("spec")) == 3 })
	all := to.of("spec")
	if all[0].Flags[0] != notRead || all[0].Raw != "a note.txt" {
		t.Errorf("%+v", all[0])
	}
	if all[2].At.After(time.Now()) {
		t.Errorf("the last of a series is of %s, after its file was written", all[2].At)
	}
	if d := all[2].At.Sub(all[1].At); d != 10*time.Second || all[2].Curve.Samples[1] != 4 {
		t.Errorf("spectra of a series are %s apart: %+v", d, all[2].Curve)
	}
}

func TestAFolderOfTenThousandFiles(t *testing.T) {
	f := &Folder{Name: "spec", Path: t.TempDir(), SettleS: 0.05}
	for i := range 10000 {
		write(t, filepath.Join(f.Path, fmt.Sprintf("old-%d.csv", i)), spectrumText)
	}
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, f)
	until(t, "the watch to begin", func() bool { return standing(s, "spec").Connected })
	if !said(s, Note, "left alone: 10000") {
		t.Error("the log does not count them")
	}
	write(t, filepath.Join(f.Path, "new.csv"), spectrumText)
	until(t, "the new one", func() bool { return len(to.of("spec")) == 1 })
	if raw := to.of("spec")[0].Raw; !strings.HasPrefix(raw, "new.csv ") {
		t.Errorf("%q", raw)
	}
}

// place puts a whole file into a folder, as of a moment.
func place(t testing.TB, f *Folder, name, text string, made time.Time) {
	t.Helper()
	hidden := filepath.Join(f.Path, "."+name)
	write(t, hidden, text)
	if err := os.Chtimes(hidden, made, made); err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(hidden, filepath.Join(f.Path, name)); err != nil {
		t.Fatal(err)
	}
}

func TestABurstOfFilesKeepsTheTimeOfEach(t *testing.T) {
	both(t, func(t *testing.T, f *Folder) {
		to := &shelf{}
		s := opened(t, to, Options{})
		start(t, s, f)
		until(t, "the watch to begin", func() bool { return standing(s, "spec").Connected })
		const files = 300
		began := time.Now().Add(-15 * time.Second).Truncate(time.Millisecond)
		made := map[string]time.Time{}
		for i := range files {
			// Not in the order in which they were made, as notices come in a burst.
			k := i * 7 % files
			name := fmt.Sprintf("%d.csv", k)
			made[name] = began.Add(time.Duration(k) * 20 * time.Millisecond)
			place(t, f, name, spectrumText, made[name])
			if i%100 == 99 {
				until(t, "some of them", func() bool { return len(to.of("spec")) > i/2 })
			}
		}
		until(t, "all of them", func() bool { return len(to.of("spec")) == files })
		for _, r := range to.of("spec") {
			name, _, _ := strings.Cut(r.Raw, " ")
			if !r.At.Equal(made[name]) || len(r.Flags) > 0 {
				t.Errorf("%s is kept as of %s, %s off, and flagged %v", name, r.At, r.At.Sub(made[name]), r.Flags)
			}
		}
	})
}

func TestAFileWithoutAnEndIsWaitedFor(t *testing.T) {
	f := &Folder{Name: "spec", Path: t.TempDir(), SettleS: 0.4}
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, f)
	until(t, "the watch to begin", func() bool { return standing(s, "spec").Connected })
	began := time.Now()
	write(t, filepath.Join(f.Path, "none.csv"), strings.TrimSpace(spectrumText))
	write(t, filepath.Join(f.Path, "ended.csv"), spectrumText)
	until(t, "both", func() bool { return len(to.of("spec")) == 2 })
	if took := time.Since(began); took < patient*400*time.Millisecond {
		t.Errorf("both were read after %s", took)
	}
	if first := to.of("spec")[0].Raw; !strings.HasPrefix(first, "ended.csv") {
		t.Errorf("%q was read first", first)
	}
}

func TestAFileThatGoesOnSaysThatItWasReadTooEarly(t *testing.T) {
	both(t, func(t *testing.T, f *Folder) {
		to := &shelf{}
		s := opened(t, to, Options{})
		start(t, s, f)
		until(t, "the watch to begin", func() bool { return standing(s, "spec").Connected })
		name := filepath.Join(f.Path, "slow.csv")
		write(t, name, spectrumText[:strings.Index(spectrumText, "700")])
		until(t, "the part", func() bool { return standing(s, "spec").Readings == 1 })
		write(t, name, spectrumText)
		until(t, "the whole", func() bool { return standing(s, "spec").Readings == 2 })
		part, whole := to.of("spec")[0], to.of("spec")[1]
		if len(part.Curve.Samples) != 3 || len(whole.Curve.Samples) != 4 {
			t.Fatalf("%d and %d samples", len(part.Curve.Samples), len(whole.Curve.Samples))
		}
		if want := "slow.csv was not whole when it was first read: set reading 1 aside"; whole.Note != want || strings.Join(whole.Flags, ", ") != wasPart {
			t.Errorf("%q flagged %v, want %q", whole.Note, whole.Flags, want)
		}
		if !said(s, Trouble, "set reading 1 aside") {
			t.Error("the log does not say so")
		}
		// Another measurement under the same name replaces nothing.
		write(t, name, strings.Replace(spectrumText, "0.1", "0.15", 1)+"750,0\n")
		until(t, "another", func() bool { return standing(s, "spec").Readings == 3 })
		if r := to.of("spec")[2]; r.Note != "" || len(r.Flags) > 0 {
			t.Errorf("%q flagged %v", r.Note, r.Flags)
		}
	})
}

func TestTroubleWithAFileStandsUntilTheNextIsRead(t *testing.T) {
	f := &Folder{Name: "spec", Path: t.TempDir(), SettleS: 0.05}
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, f)
	until(t, "the watch to begin", func() bool { return standing(s, "spec").Connected })
	write(t, filepath.Join(f.Path, "a note.txt"), "the lamp hums\n")
	until(t, "the note", func() bool { return standing(s, "spec").Readings == 1 })
	if trouble := standing(s, "spec").Trouble; !strings.HasPrefix(trouble, "a note.txt: found ") {
		t.Errorf("%q stands in its way", trouble)
	}
	write(t, filepath.Join(f.Path, "good.csv"), spectrumText)
	until(t, "the spectrum", func() bool { return standing(s, "spec").Readings == 2 })
	if trouble := standing(s, "spec").Trouble; trouble != "" {
		t.Errorf("%q still stands in its way", trouble)
	}
}

func TestAFolderThatGoesAwayIsWaitedFor(t *testing.T) {
	parent := t.TempDir()
	f := &Folder{Name: "spec", Path: filepath.Join(parent, "stick"), SettleS: 0.05, deaf: true}
	if err := f.Check(); err == nil {
		t.Error("a folder that is not there cannot be watched")
	}
	if err := os.Mkdir(f.Path, 0o755); err != nil {
		t.Fatal(err)
	}
	to := &shelf{}
	s := opened(t, to, Options{})
	start(t, s, f)
	until(t, "the watch to begin", func() bool { return standing(s, "spec").Connected })
	if err := os.Remove(f.Path); err != nil {
		t.Fatal(err)
	}
	until(t, "a sentence about it", func() bool { return strings.Contains(standing(s, "spec").Trouble, "cannot be read") })
	if err := os.Mkdir(f.Path, 0o755); err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(f.Path, "new.csv"), spectrumText)
	until(t, "its file", func() bool { return len(to.of("spec")) == 1 })
}

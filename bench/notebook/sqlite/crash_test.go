//go:build unix

package sqlite

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
)

// The tests below need a process that can be killed or starved: this program
// again, told by its environment what to do.
const (
	childRole = "LAMPASSAY_TEST_CHILD"
	childPath = "LAMPASSAY_TEST_NOTEBOOK"
)

func TestMain(m *testing.M) {
	roles := map[string]func(context.Context, *Store) error{"record": recordForEver, "starve": recordUntilFull, "hold": hold, "create": nil}
	role := os.Getenv(childRole)
	if role == "" {
		os.Exit(m.Run())
	}
	ctx := context.Background()
	var s *Store
	var err error
	if role == "create" {
		s, err = Create(ctx, os.Getenv(childPath))
	} else if s, err = Open(ctx, os.Getenv(childPath)); err == nil {
		err = roles[role](ctx, s)
	}
	if err != nil {
		fmt.Printf("error %d %v\n", notebook.CodeOf(err), err)
		os.Exit(1)
	}
	s.Close()
}

// child prepares this program in a role.
func child(tb testing.TB, role, path string) (*exec.Cmd, *bufio.Scanner) {
	tb.Helper()
	// Where there is this name it works for every user, whoever may look into
	// the folder of the test's program.
	program := "/proc/self/exe"
	if _, err := os.Stat(program); err != nil {
		if program, err = os.Executable(); err != nil {
			tb.Fatal(err)
		}
	}
	cmd := exec.Command(program)
	cmd.Env = append(os.Environ(), childRole+"="+role, childPath+"="+path)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		tb.Fatal(err)
	}
	return cmd, bufio.NewScanner(out)
}

// recordForEver enters readings into a session at the bench, one after the other as
// fast as the disk takes them, and says before and after each which it is.
func recordForEver(ctx context.Context, s *Store) error {
	session, g := live.Open(ctx, live.Into(s, 1), live.Options{}), newSpectra(128)
	t, err := s.Tally(ctx, 1)
	if err != nil {
		return err
	}
	for n := t.Readings + 1; ; n++ {
		reading := g.at(int(n), 1)
		if n%2 == 0 {
			reading = watts(float64(n))
		}
		os.Stdout.WriteString("sent " + strconv.FormatInt(n, 10) + "\n")
		got, err := session.Enter(ctx, reading)
		if err != nil {
			return err
		}
		os.Stdout.WriteString("kept " + strconv.FormatInt(got, 10) + "\n")
	}
}

// TestKilledWhileRecording kills a recording process at 200 random moments, which
// count from its first reading; each fourth from its start, since opening is a moment
// to die in too. It shows that the process can die; that the machine can is up to
// the disk's word on fsync, which a test like this cannot ask for.
func TestKilledWhileRecording(t *testing.T) {
	const kills, each = 200, 10 // a notebook lives through ten
	seed := uint64(time.Now().UnixNano())
	moments := rand.New(rand.NewPCG(seed, 0))
	var path string
	before, recorded, betweenSentAndKept := int64(0), int64(0), 0
	for k := range kills {
		if k%each == 0 {
			s := fresh(t)
			sit(t, s, tube(t, s).ID)
			path, before = s.path, 0
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
		}
		cmd, out := child(t, "record", path)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		var kill *time.Timer
		doom := func() {
			life := time.Duration(1+moments.IntN(100)) * time.Millisecond
			kill = time.AfterFunc(life, func() { cmd.Process.Kill() })
		}
		if k%4 == 0 {
			doom()
		}
		sent, kept := before, before
		for out.Scan() {
			if n, is := strings.CutPrefix(out.Text(), "sent "); is {
				if kill == nil {
					doom()
				}
				sent, _ = strconv.ParseInt(n, 10, 64)
			} else if n, is := strings.CutPrefix(out.Text(), "kept "); is {
				kept, _ = strconv.ParseInt(n, 10, 64)
			} else {
				t.Errorf("seed %d, kill %d: the recorder said %q", seed, k, out.Text())
			}
		}
		if kill != nil {
			kill.Stop()
		}
		_ = cmd.Wait() // killed
		s, err := Open(t.Context(), path)
		if err != nil {
			t.Fatalf("seed %d, kill %d: %v", seed, k, err)
		}
		wantClean(t, s)
		tally, err := s.Tally(t.Context(), 1)
		if err != nil {
			t.Fatal(err)
		}
		if tally.Readings < kept || tally.Readings > sent || sent > kept+1 {
			t.Errorf("seed %d, kill %d: %d readings were acknowledged and %d sent, and %d are there", seed, k, kept, sent, tally.Readings)
		}
		if sent > kept {
			betweenSentAndKept++
		}
		recorded, before = recorded+tally.Readings-before, tally.Readings
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if betweenSentAndKept == 0 {
		t.Error("no kill fell between sending a reading and its acknowledgement")
	}
	t.Logf("%d kills among %d readings, %d of them between a reading and its acknowledgement", kills, recorded, betweenSentAndKept)
}

// recordUntilFull records until the files may not grow any more, then lifts the
// limit and records once again.
func recordUntilFull(ctx context.Context, s *Store) error {
	signal.Ignore(syscall.SIGXFSZ)
	var limit syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
		return err
	}
	narrow := limit
	narrow.Cur = 256 << 10
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &narrow); err != nil {
		return err
	}
	g := newSpectra(512)
	for k := 0; ; k++ {
		n, err := s.Append(ctx, 1, []notebook.Reading{g.at(k, 0)})
		if err != nil {
			fmt.Printf("full %d %v\n", notebook.CodeOf(err), err)
			break
		}
		fmt.Println("kept", n)
	}
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
		return err
	}
	n, err := s.Append(ctx, 1, []notebook.Reading{watts(1)})
	fmt.Println("again", n)
	return err
}

func TestAFullDiskLosesNothingAcknowledged(t *testing.T) {
	s := fresh(t)
	sit(t, s, tube(t, s).ID)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	cmd, out := child(t, "starve", s.path)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	var kept, again int64
	full := ""
	for out.Scan() {
		word, rest, _ := strings.Cut(out.Text(), " ")
		switch word {
		case "kept":
			kept, _ = strconv.ParseInt(rest, 10, 64)
		case "again":
			again, _ = strconv.ParseInt(rest, 10, 64)
		case "full":
			full = rest
		default:
			t.Errorf("the recorder said %q", out.Text())
		}
	}
	if err := cmd.Wait(); err != nil {
		t.Error(err)
	}
	if !strings.HasPrefix(full, fmt.Sprintf("%d notebook: there is no room to write", notebook.Full)) || strings.Contains(full, "\n") {
		t.Errorf("on a full disk it says %q", full)
	}
	if kept == 0 || again != kept+1 {
		t.Errorf("%d readings were acknowledged before the disk was full, and the next after it was %d", kept, again)
	}
	if s, err := Open(t.Context(), s.path); err != nil {
		t.Error(err)
	} else {
		defer s.Close()
		if v := wantClean(t, s); v.Readings != again {
			t.Errorf("%d readings are there, want %d", v.Readings, again)
		}
	}
}

// hold keeps a notebook open until its input ends.
func hold(context.Context, *Store) error {
	fmt.Println("open")
	_, err := bufio.NewReader(os.Stdin).ReadByte()
	if err == io.EOF {
		return nil
	}
	return err
}

func TestASecondProcessIsToldWhoWrites(t *testing.T) {
	s := fresh(t)
	sit(t, s, tube(t, s).ID)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	cmd, out := child(t, "hold", s.path)
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if !out.Scan() || out.Text() != "open" {
		t.Fatalf("the other process said %q", out.Text())
	}
	_, err = Open(t.Context(), s.path)
	wantCode(t, err, notebook.Locked, fmt.Sprintf("is open in process %d", cmd.Process.Pid))

	// Reading goes on beside it.
	reader, err := OpenReadOnly(t.Context(), s.path)
	if err != nil {
		t.Fatal(err)
	}
	defer reader.Close()
	wantClean(t, reader)
	if _, err := reader.Lamps().Add(t.Context(), notebook.Lamp{Name: "x"}); notebook.CodeOf(err) != notebook.ReadOnly {
		t.Errorf("a notebook open for reading took a lamp: %v", err)
	}
	in.Close()
	if err := cmd.Wait(); err != nil {
		t.Error(err)
	}
	if s, err = Open(t.Context(), s.path); err != nil {
		t.Fatalf("after the other process has ended: %v", err)
	}
	s.Close()
}

// TestAReadOnlyFolder runs as somebody whom permissions bind: as another user
// where it is run by root.
func TestAReadOnlyFolder(t *testing.T) {
	folder, err := os.MkdirTemp("", "lampassay-test-")
	if err != nil {
		t.Fatal(err)
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "bench.notebook")
	s, err := Create(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	sit(t, s, tube(t, s).ID)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(os.Remove(path+lockEnd), os.Chmod(path, 0o444), os.Chmod(folder, 0o555)); err != nil {
		t.Fatal(err)
	}
	defer os.Chmod(folder, 0o755)
	for role, path := range map[string]string{"hold": path, "create": filepath.Join(folder, "new.notebook")} {
		cmd, out := child(t, role, path)
		if os.Getuid() == 0 {
			cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		out.Scan()
		said := out.Text()
		if out.Scan() {
			t.Errorf("%s: it says more than a line: %q", role, out.Text())
		}
		_ = cmd.Wait()
		if !strings.HasPrefix(said, fmt.Sprintf("error %d notebook: %s cannot be written", notebook.ReadOnly, path)) {
			t.Errorf("%s: in a read-only folder it says %q", role, said)
		}
	}
}

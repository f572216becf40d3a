package simulate

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"lampassay/bench/live"
	"lampassay/bench/notebook"
	"lampassay/light/temporal"
)

// shelf is a sink in memory.
type shelf struct {
	mu  sync.Mutex
	all []notebook.Reading
}

func (s *shelf) Append(_ context.Context, readings []notebook.Reading) (int64, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.all = append(s.all, readings...)
	return int64(len(s.all)), nil
}

// patience is how long a test waits for what has to come.
const patience = 2 * time.Minute

var oneLamp = sync.OnceValues(NewLamp)

func lampOf(t *testing.T) *Lamp {
	t.Helper()
	l, err := oneLamp()
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// A half hour and a bit at ×600, over a socket, a pseudo-terminal and a folder,
// with faults: all three instruments come to one verdict.
func TestARunUpIsRecordedFromSimulatedInstruments(t *testing.T) {
	const rate = 600
	b, err := Open(t.Context(), Options{Rate: rate, Faults: true, Folder: t.TempDir(), Every: 25 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	setUp, err := b.SetUp()
	if err != nil {
		t.Fatal(err)
	}
	config, err := live.ReadConfig("bench.json", bytes.NewReader(setUp))
	if err != nil || config.Rate != rate || len(config.Sources) != 3 {
		t.Fatalf("%v: %s", err, setUp)
	}
	to := &shelf{}
	s := live.Open(t.Context(), to, live.Options{Rate: rate, Look: live.Photometer()})
	for _, src := range config.Sources {
		if f, ok := src.(*live.Folder); ok {
			f.SettleS = 0.05
		}
		if err := s.Start(src); err != nil {
			t.Fatal(err)
		}
	}
	before := s.Clock().Now()
	b.Stage.SwitchOn()
	w := b.Watch()
	w.SwitchedOn = s.Clock().Now()
	var standing live.Standing
	deadline := time.Now().Add(patience)
	for ; !standing.Verdict.Stable; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("not stable: %+v", standing.Verdict)
		}
		standing, _ = s.RunUp(w) // too few readings at first
	}
	if standing.Verdict.Burning < 1800 {
		t.Errorf("stable after %.0f s, though the rule wants 30 min", standing.Verdict.Burning)
	}
	spectra, light := s.Trace(live.Pick{Channel: Spectrum, Key: live.LightKey}), s.Trace(w.Light)
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	if err := b.Close(); err != nil {
		t.Error(err)
	}

	// The lamp's own curve says when 80 % are there.
	want := 0.0
	for b.Stage.Lamp.Lux(want) < 0.8*fullLux {
		want++
	}
	// A reading each 25 ms is one each 15 s of the lamp's; where the machine is busy
	// with something else they are further apart.
	apart := 0.0
	for i := 1; i < light.Len() && light.Seconds[i-1] < 3*want; i++ {
		apart = max(apart, light.Seconds[i]-light.Seconds[i-1])
	}
	apart += w.SwitchedOn.Sub(before).Seconds()
	if got := standing.Reached[1]; got.Share != 0.8 || math.Abs(got.Seconds-want) > 30+2*apart {
		t.Errorf("80 %% at %.0f s, where the lamp has it at %.0f s", got.Seconds, want)
	}
	if spectra.Len() < 10 {
		t.Errorf("%d spectra were seen", spectra.Len())
	}
	odd := map[string]bool{}
	for _, r := range to.all {
		if err := r.Check(); err != nil {
			t.Error(err)
		}
		for _, f := range r.Flags {
			odd[f] = true
		}
		for _, v := range r.Values {
			odd[v.Flag] = true
			if v.V != nil && math.Abs(*v.V) > 1e5 {
				t.Errorf("a marker got in as a number: %+v", r)
			}
		}
	}
	for _, flag := range []string{"not a number", "unreadable bytes", "first line, may be a part"} {
		if !odd[flag] {
			t.Errorf("nothing is flagged %q: %v", flag, odd)
		}
	}
}

func TestTheLampRunsUpAndSettles(t *testing.T) {
	l := lampOf(t)
	if l.Lux(-1) != 0 || l.Watts(-1) != 0 {
		t.Error("a lamp that is off is dark")
	}
	if math.Abs(l.Lux(runUpSeconds)-fullLux) > 1e-9 || l.Lux(2*runUpSeconds) != l.Lux(runUpSeconds) {
		t.Errorf("at the end there are %g lx", l.Lux(runUpSeconds))
	}
	var seconds, lux, watts []float64
	for s := 0.0; s <= runUpSeconds; s += 10 {
		seconds, lux, watts = append(seconds, s), append(lux, l.Lux(s)), append(watts, l.Watts(s))
	}
	light, _ := temporal.NewTrace(seconds, lux)
	power, _ := temporal.NewTrace(seconds, watts)
	r, err := temporal.Analyse(light, power, temporal.Options{})
	if err != nil || !r.Verdict.Stable {
		t.Fatalf("%v %+v", err, r.Verdict)
	}
	if r.Reached[1].Seconds < 300 || r.Reached[1].Seconds > 900 {
		t.Errorf("80 %% after %g s: a low-pressure sodium lamp takes minutes", r.Reached[1].Seconds)
	}
}

func TestTheMeterSpeaksSCPI(t *testing.T) {
	l := lampOf(t)
	stage := NewStage(l, 1)
	m := meterTalk{stage: stage}
	for _, tc := range [][2]string{
		{"*IDN?", Identity},
		{"MEAS:POW?", "0.0000E+00"},
		{"measure:voltage?;current?", "2.3039E+02;0.0000E+00"}, // 230.4 + 0.3 sin(−1/47)
		{"MEAS:VOLT?;:MEAS:POW?;*OPC?", "2.3039E+02;0.0000E+00;1"},
		{"FETC?", ""},
		{"SYST:ERR?", `-113,"Undefined header"`},
		{"SYST:ERR?", `0,"No error"`},
		{"VOLT?;*CLS", ""},
		{"SYST:ERR?", `0,"No error"`},
	} {
		if got, err := m.message(tc[0]); err != nil || got != tc[1] {
			t.Errorf("%s: %q, want %q (%v)", tc[0], got, tc[1], err)
		}
	}
}

func TestFilesAppearPieceByPieceAndWhole(t *testing.T) {
	l := lampOf(t)
	ctx, cancel := context.WithCancel(t.Context())
	folder := t.TempDir()
	m := Spectrometer{NewStage(l, 1), folder, 40 * time.Millisecond}
	ended := make(chan error)
	go func() { ended <- m.Serve(ctx) }()
	// Sizes of the newest file: who looks too late at one sees the next.
	sizes, newest := map[int64]bool{}, ""
	for end := time.Now().Add(patience); len(sizes) < 3 && time.Now().Before(end); {
		files, err := os.ReadDir(folder)
		if err != nil || len(files) == 0 {
			continue
		}
		last := files[len(files)-1]
		if last.Name() != newest {
			sizes, newest = map[int64]bool{}, last.Name()
		}
		if info, err := last.Info(); err == nil {
			sizes[info.Size()] = true
		}
	}
	cancel()
	if err := <-ended; err != nil || len(sizes) < 3 {
		t.Errorf("%v; sizes seen: %v", err, sizes)
	}
	whole, err := os.ReadFile(filepath.Join(folder, "spectrum-00001.csv"))
	if err != nil || strings.Count(string(whole), "\n") != len(l.Axis)+3 {
		t.Errorf("%v; the file has %d lines", err, strings.Count(string(whole), "\n"))
	}
}

package simulate

import (
	"testing"
	"time"
)

// A pseudo-terminal holds some kilobytes; whoever writes on is blocked, and was so
// for good where the write could not be interrupted.
func TestABenchWhoseLightMeterNobodyReadsEnds(t *testing.T) {
	b, err := Open(t.Context(), Options{Every: time.Microsecond})
	if err != nil {
		t.Fatal(err)
	}
	time.Sleep(2 * time.Second) // far more lines than the terminal holds
	ended := make(chan error, 1)
	go func() { ended <- b.Close() }()
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(patience / 4):
		t.Fatal("it has not ended")
	}
}

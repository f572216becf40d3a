package figure

import (
	"image"
	"image/color"
	"math"
	"strings"
	"testing"
)

// rungs are an invented lamp's.
func rungs() []LadderRung {
	return []LadderRung{
		{Name: "one line at 555 nm", Efficacy: 683, Basis: LadderDefined},
		{Name: "the best white of this colour with Ra 82 or more: lines at 458, 532, 573, 608 nm", Efficacy: 404, Basis: LadderComputed, Kept: 404. / 683, Loss: "white needs blue and red, which the eye sees less well, and an Ra asks for more of them"},
		{Name: "this lamp's own spectrum", Efficacy: 337, Basis: LadderMeasured, Kept: 337. / 404, Loss: "its visible light lies where the eye is less sensitive"},
		{Name: "what it gives per watt at the lamp, gear assumed to pass 90 % of the power", Efficacy: 93, Basis: LadderAssumed, Kept: 93. / 337, Loss: "heat of the lamp, and radiation that the spectrum does not cover"},
		{Name: "what it gives per watt at the mains", Efficacy: 83.7, Basis: LadderMeasured, Kept: 0.9, Loss: "loss in the gear"},
	}
}

// ladderPictures are the ladders and what stands beside them.
func ladderPictures(t testing.TB) map[string]*Picture {
	made := must(t)
	fl11, a, hp1 := illuminant(t, "FL11"), illuminant(t, "A"), illuminant(t, "HP1")
	bare := rungs()
	bare[1] = LadderRung{Name: "the best white of this colour", Absent: "it was not searched for"}
	bare[3] = LadderRung{Name: "what it gives per watt at the lamp", Absent: "needs both a flux and a power; neither was given"}
	bare[4] = LadderRung{Name: "what it gives per watt at the mains", Efficacy: 0.4, Kept: 0.4 / 337, Loss: "nearly everything", Basis: LadderMeasured}
	samples := make([]string, 14)
	rows := []RelitRow{{Name: "in daylight, D65"}, {Name: "under this lamp, to an eye used to daylight"}}
	pairs, _ := hp1.swatches()
	for i := range samples {
		samples[i] = "R" + fixed(float64(i+1), 0)
		rows[0].Colours = append(rows[0].Colours, pairs[i].Reference)
		rows[1].Colours = append(rows[1].Colours, pairs[i].Lamp)
	}
	return map[string]*Picture{
		"ladder":      made(Ladder{Rungs: rungs()}.Picture()),
		"ladder-bare": made(Ladder{Rungs: bare}.Picture()),
		"ladders": made(Ladders{Lamps: []LampLadder{
			{Name: "Tube", Best: 404, Spectrum: 337, AtLamp: 93, AtMains: 82, Strip: fl11.strip()},
			{Name: strings.Repeat("a filament with a long name ", 4), Best: 363, Spectrum: 121, AtMains: 11.8, Strip: a.strip()},
			{Name: "nothing known"},
			{Name: "at the lamp alone", Best: 500, Spectrum: 480, AtLamp: 470, Assumed: true},
		}}.Picture()),
		"relit": made(Relit{Samples: samples, Rows: rows}.Picture()),
	}
}

func TestALadderNeedsSomethingToHangFrom(t *testing.T) {
	for name, l := range map[string]Ladder{
		"no rungs":      {},
		"no top":        {Rungs: []LadderRung{{Name: "x", Absent: "not known"}, {Name: "y", Efficacy: 3}}},
		"not a number":  {Rungs: []LadderRung{{Name: "x", Efficacy: math.NaN()}}},
		"below nothing": {Rungs: []LadderRung{{Name: "x", Efficacy: 683}, {Name: "y", Efficacy: -1}}},
		"no such basis": {Rungs: []LadderRung{{Name: "x", Efficacy: 683, Basis: 9}}},
	} {
		if p, err := l.Picture(); err == nil {
			t.Errorf("%s: a picture %q", name, p.Title)
		}
	}
	if _, err := (Ladders{}).Picture(); err == nil {
		t.Error("ladders of no lamp")
	}
	if _, err := (Relit{Samples: []string{"a"}, Rows: []RelitRow{{Name: "x"}}}).Picture(); err == nil {
		t.Error("a row without its colours")
	}
}

func TestACaptionStandsBeneathThePictureAndLeavesItAlone(t *testing.T) {
	for _, width := range []int{40, 300, 760, 4000} {
		src := image.NewNRGBA(image.Rect(5, 7, 5+width, 7+30))
		for i := range src.Pix {
			src.Pix[i] = uint8(i)
		}
		got, err := Caption(src, "Screen simulation: a daylight photograph under a lamp.")
		if err != nil {
			t.Fatal(err)
		}
		b := got.Bounds()
		if b.Dx() != width || b.Dy() < 30+20 {
			t.Fatalf("%d px: %v", width, b)
		}
		for y := range 30 {
			for x := range width {
				// An opacity of less than all may round the colour.
				if c := src.NRGBAAt(x+5, y+7); c.A == 255 && got.NRGBAAt(x, y) != c {
					t.Fatalf("%d px: pixel %d, %d changed", width, x, y)
				}
			}
		}
		letters := 0
		for y := 30; y < b.Dy(); y++ {
			for x := range width {
				if got.NRGBAAt(x, y) != (color.NRGBA{255, 255, 255, 255}) {
					letters++
				}
			}
		}
		if letters == 0 {
			t.Errorf("%d px: the band is empty", width)
		}
	}
	if _, err := Caption(image.NewNRGBA(image.Rect(0, 0, 0, 5)), "x"); err == nil {
		t.Error("a picture of nothing got a caption")
	}
}

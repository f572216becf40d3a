package caution

import (
	"slices"
	"strings"
	"testing"

	"lampassay/bench/notebook"
)

func TestWordsTellWhatALampCanDo(t *testing.T) {
	const (
		hid  = Gear | Mercury | Pressure | Heat | Restrike | OuterBulb
		tube = Gear | Mercury
	)
	for _, c := range []struct {
		text        string
		must, never Trait
	}{
		// Sodium: the metal in quantity is in low-pressure lamps only.
		{"low-pressure sodium", Sodium | Gear, Mercury | Pressure | Unknown},
		{"Sodium, low pressure", Sodium | Gear, Mercury | Pressure},
		{"SOX 35 W", Sodium | Gear, Mercury},
		{"SOX-E", Sodium | Gear, Mercury},
		{"LPS", Sodium, Mercury},
		{"High-pressure sodium, 70 W", hid | Ignitor, Sodium},
		{"HPS", hid | Ignitor, Sodium | Unknown},
		{"SON-T 150", hid | Ignitor, Sodium},
		{"SON150W", hid | Ignitor, Sodium},
		{"white SON", hid | Ignitor, Sodium},
		{"NAV-T", hid | Ignitor, Sodium},
		{"sodium vapour", hid | Ignitor | Sodium, Unknown}, // of either pressure

		// Metal halide by its many names.
		{"metal halide", hid | Ignitor | Glare, Unknown},
		{"Metal-halide", hid | Ignitor, Unknown},
		{"ceramic metal halide", hid | Ignitor, 0},
		{"HQI", hid | Ignitor, Unknown},
		{"HQI-TS 70W/NDL", hid | Ignitor | Ultraviolet, Unknown},
		{"CDM", hid | Ignitor, Unknown},
		{"CDM-T 35W/830", hid | Ignitor, Unknown},
		{"CMH", hid | Ignitor, Unknown},
		{"HMI 575", hid | Ignitor | Ultraviolet, Unknown},
		{"HID", hid | Ignitor | Ultraviolet, Unknown},
		{"high intensity discharge", hid | Ignitor, Unknown},
		{"projector UHP", hid | Ignitor | Ultraviolet, Unknown},

		// Mercury.
		{"high-pressure mercury, clear", hid, Unknown | Sodium},
		{"mercury vapor", hid, Unknown},
		{"HQL 125", hid, Unknown},
		{"MBF/U", hid, Unknown},
		{"mercury vapour, black light", hid | Ultraviolet, Unknown},
		{"mercury", hid | Ultraviolet, Unknown},
		{"low-pressure mercury", Ultraviolet | tube, Pressure | Unknown},
		{"mercury-xenon", Ultraviolet | Mercury | ColdPress | Ignitor, Unknown},
		{"HBO 100", Ultraviolet | Mercury | ColdPress, Unknown},
		{"mercury-argon line lamp", Ultraviolet | Mercury | HighVoltage, Unknown},

		// Ultraviolet.
		{"UV-C LED", Ultraviolet | Glare, Mercury | Unknown},
		{"UVC", Ultraviolet | Mercury, Unknown},
		{"UV C", Ultraviolet | Mercury, Unknown},
		{"UV LED 365 nm", Ultraviolet, Mercury | Unknown},
		{"LED, 275nm", Ultraviolet, Mercury | Unknown},
		{"LED 310–320 nm", Ultraviolet, Mercury},
		{"365 nm", Ultraviolet | Mercury, Unknown},
		{"LED 405 nm", Glare, Ultraviolet},
		{"LED, 660 nm", Glare, Ultraviolet},
		{"UVB fluorescent", Ultraviolet | tube, Unknown},
		{"blacklight", Ultraviolet | tube, Unknown},
		{"Black-light tube", Ultraviolet | tube, Unknown},
		{"blacklight LED bar", Ultraviolet, Mercury},
		{"BLB", Ultraviolet | tube, Unknown},
		{"F18T8/BLB", Ultraviolet | tube, Unknown},
		{"deuterium", Ultraviolet | HighVoltage, Unknown},
		{"tanning tube", Ultraviolet | tube, Unknown},
		{"sun lamp", Ultraviolet, Unknown},
		{"sunlamp", Ultraviolet, Unknown},
		{"germicidal", Ultraviolet | tube, Unknown},
		{"TUV 15 W", Ultraviolet | tube, Unknown},
		{"222 nm excimer", Ultraviolet, Unknown},
		{"Wood’s lamp", Ultraviolet, Unknown},
		{"ultraviolet", Ultraviolet, Unknown},

		// Fluorescent.
		{"fluorescent, three phosphors", tube, Ultraviolet | Pressure | Unknown},
		{"flourescent", tube, Unknown},
		{"compact fluorescent", tube | Flashing, Unknown},
		{"CFLs", tube, Unknown},
		{"CCFL", tube | HighVoltage, Unknown},
		{"cold-cathode", tube | HighVoltage, Unknown},
		{"T8", tube, Unknown},
		{"T5 HO 54 W", tube, Unknown},
		{"T8 LED", Glare, Mercury | Unknown},
		{"induction", Mercury | Gear, Unknown},
		{"neon sign", HighVoltage | Gear, Unknown},

		// Xenon, flash, lasers.
		{"xenon short arc", ColdPress | Ultraviolet | Ignitor, Mercury | Unknown},
		{"XBO 150", ColdPress | Ultraviolet | Ignitor, Mercury | Unknown},
		{"xenon", ColdPress | Ultraviolet | Ignitor | Mercury, Unknown}, // of any kind
		{"xenon flash", Flashing | Capacitor | HighVoltage, Unknown},
		{"D3S mercury-free", Ignitor | Pressure | Glare, Unknown},
		{"laser phosphor", Laser | Glare, Unknown},
		{"carbon arc", Ultraviolet | Heat | Glare, Unknown},
		{"sulphur plasma", Heat | Gear, Unknown},

		// What is hot or bright, and holds no mercury.
		{"tungsten halogen", Heat | Pressure | Glare, Mercury | Gear | Ultraviolet | Unknown},
		{"quartz halogen", Heat | Pressure | Ultraviolet, Mercury},
		{"incandescent", Heat | Glare, Mercury | Gear | Pressure | Unknown},
		{"LED", Glare | Flashing, Mercury | Gear | Ultraviolet | Heat | Unknown},
		{"White LEDs", Glare | Flashing, Mercury | Unknown},
		{"LED, several phosphors", Glare, Mercury | Unknown},
		{"filament LED, dimmable", Glare | Flashing, Heat | Unknown},

		// What says nothing.
		{"", cannotBeExcluded, 0},
		{"coloured glass", cannotBeExcluded, 0},
		{"E27 bulb, 8 W", cannotBeExcluded, 0},
		{"ledger, person, harness", cannotBeExcluded, 0},
	} {
		a := For(c.text)
		for _, w := range warnings {
			if c.must.Has(w.of) && !a.Traits.Has(w.of) {
				t.Errorf("%q, taken for %s, has no word on %q", c.text, a.Name, w.caution.What)
			}
			if c.never&w.of != 0 && a.Traits.Has(w.of) {
				t.Errorf("%q, taken for %s, says %q", c.text, a.Name, w.caution.What)
			}
		}
	}
}

func TestGearBaseAndNameAddToTheTechnology(t *testing.T) {
	for name, c := range map[string]struct {
		lamp        notebook.Lamp
		must, never Trait
	}{
		"an ignitor in the gear":                {notebook.Lamp{Technology: "discharge lamp", Gear: "choke and ignitor"}, Ignitor | Gear, Unknown},
		"a kind that only the name tells":       {notebook.Lamp{Name: "SOX 35 from the level crossing"}, Sodium, Unknown},
		"a base that one kind has":              {notebook.Lamp{Base: "G13"}, Mercury | Gear, Unknown},
		"an LED on that base":                   {notebook.Lamp{Technology: "LED", Base: "G13", Model: "T8 tube"}, Glare, 0},
		"a wavelength in the model":             {notebook.Lamp{Technology: "LED", Model: "365 nm, 3 W"}, Ultraviolet, Mercury},
		"a germicidal tube that stands by LEDs": {notebook.Lamp{Technology: "germicidal tube", Name: "Beside the LED shelf"}, Ultraviolet | Mercury | Gear, Unknown},
		"a lamp with nothing but a name":        {notebook.Lamp{Name: "Waiting room, left"}, cannotBeExcluded, 0},
		"a capacitor across an LED driver":      {notebook.Lamp{Technology: "LED", Gear: "driver with capacitor"}, Capacitor, Gear},
		"old gear":                              {notebook.Lamp{Technology: "fluorescent", Gear: "vintage choke"}, Old | Mercury, 0},
		"words that would only meet across":     {notebook.Lamp{Technology: "LED", Name: "Black", Model: "light bar"}, Glare, Ultraviolet},
	} {
		a := Of(&c.lamp)
		if !a.Traits.Has(c.must) || a.Traits&c.never != 0 {
			t.Errorf("%s: taken for %s with traits %b; %b are needed and %b are wrong", name, a.Name, a.Traits, c.must, c.never)
		}
	}
}

func TestEveryKindIsNamedByItsOwnName(t *testing.T) {
	for _, name := range Names() {
		if got := For(name).Name; got != name {
			t.Errorf("the technology that is offered as %q is taken for %s", name, got)
		}
	}
}

func TestEveryTraitHasItsCautionAndMainsComesFirst(t *testing.T) {
	seen := Trait(0)
	for _, name := range append(Names(), "") {
		a := For(name)
		seen |= a.Traits
		if a.Cautions[0] != mains {
			t.Errorf("%s: the caution on mains is not the first", a.Name)
		}
		if n := len(a.Cautions); n < 3 || n > 12 {
			t.Errorf("%s has %d cautions", a.Name, n)
		}
	}
	for _, extra := range []string{"capacitor", "vintage"} {
		seen |= For(extra).Traits
	}
	for _, w := range warnings {
		if !seen.Has(w.of) {
			t.Errorf("no kind of lamp brings the caution %q", w.caution.What)
		}
	}
}

func TestNoCautionClaimsSafetyOrTellsHowToOpen(t *testing.T) {
	all := []Caution{mains}
	for _, w := range warnings {
		all = append(all, w.caution)
	}
	for _, c := range all {
		text := strings.ToLower(c.What + " " + c.Why)
		for _, word := range []string{"safe", "harmless", "no danger", "bypass", "unscrew", "drill", "cut "} {
			if strings.Contains(text, word) {
				t.Errorf("%q says %q", c.What, word)
			}
		}
	}
}

func FuzzEveryTextHasCautions(f *testing.F) {
	for _, s := range []string{"", "UV-C LED 275–285 nm", "SON-T", "’", "\x00\xff", "999999999999999999 nm", strings.Repeat("high ", 200)} {
		f.Add(s, s)
	}
	f.Fuzz(func(t *testing.T, technology, name string) {
		a := For(technology, name)
		if len(a.Cautions) < 3 || a.Cautions[0] != mains || a.WarmUp == "" {
			t.Errorf("%q, %q: %+v", technology, name, a)
		}
		// More words never take a caution from an unknown lamp's list without
		// telling what it is.
		if a.Name == "unknown" && !a.Traits.Has(cannotBeExcluded) {
			t.Errorf("%q, %q is unknown and has the traits %b", technology, name, a.Traits)
		}
		if !slices.Equal(a.Cautions, For(technology, name).Cautions) {
			t.Error("the same words give other cautions")
		}
	})
}

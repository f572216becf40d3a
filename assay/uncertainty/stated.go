package uncertainty

import (
	"slices"

	"lampassay/assay"
)

// instrument puts what the file states of the spectrometer in place of its
// class's figures.
func (c *Conditions) instrument(in *Spectrometer) error {
	for i := range c.Inputs {
		e := &c.Inputs[i]
		if m, err := meaningOf(e.Name); err != nil || m.Part != OfSpectrometer {
			continue
		}
		if in.Sources == nil {
			in.Sources = map[string]string{}
		}
		in.Sources[e.Name] = e.source()
		share := 1.0
		if e.Unit == "%" {
			share = 0.01
		}
		in.without(e.Name)
		var err error
		switch e.Name {
		case PixelNoise:
			if e.Floor == nil || e.Peak == nil {
				return e.fault("it needs \"floor\" and \"peak\"")
			}
			in.Noise = Noise{Floor: share * *e.Floor, Peak: share * *e.Peak}
			_, err = in.Noise.deviations([]float64{1})
		case ResponseCurve:
			if e.CorrelationNm == nil {
				return e.fault("it needs the length in nm over which neighbours err alike, \"correlation_nm\"")
			}
			in.Response = Response{Nm: e.Nm, U: make([]float64, len(e.UAt)), Correlation: *e.CorrelationNm}
			for k, u := range e.UAt {
				in.Response.U[k] = share * u
			}
			err = in.Response.check()
		case SecondOrder, Linearity:
			d, err := e.distribution()
			if err != nil {
				return err
			}
			in.reshape(e.Name, d.scaled(share), e.source()) // acts on raw counts alone
			continue
		default:
			to := in.input(e.Name)
			if *to, err = e.distribution(); err != nil {
				return err
			}
			*to = to.scaled(share)
			if (e.Name == Bandwidth || e.Name == ReferenceLamp) && !(to.centre > 0) {
				return e.fault("its value is missing: it must be above zero")
			}
			if in.reshape(e.Name, *to, e.source()) {
				*to = Distribution{}
			}
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// input returns the distribution of a single input by name.
func (in *Spectrometer) input(name string) *Distribution {
	switch name {
	case WavelengthOffset:
		return &in.Offset
	case WavelengthStretch:
		return &in.Stretch
	case Bandwidth:
		return &in.Bandwidth
	case ReferenceLamp:
		return &in.Reference
	case StrayLight:
		return &in.Stray
	case DarkLevel:
		return &in.Dark
	}
	return &in.Scale
}

// source says where an entry's figures come from.
func (e *Entry) source() string {
	if e.Source == "" {
		return "stated in the sitting file"
	}
	return e.Source
}

// factors returns everything that acts on flux and power: the classes' figures,
// with those of the file in their place. What acts on nothing that was measured
// is left out.
func (c *Conditions) factors(lamp Lamp, given assay.Given, absolute bool) ([]Factor, error) {
	all := SetUp(lamp, 0.01, 2)
	measured, err := c.measured()
	if err != nil {
		return nil, err
	}
	stated := map[string]*measurement{}
	for i := range measured {
		stated[measured[i].of.key] = &measured[i]
	}
	parts := func(key string, of []Factor) {
		m := stated[key]
		if m != nil && m.whole != nil {
			of = []Factor{factor(m.of.whole, *m.whole, m.entry.source())}
		}
		if own, ok := c.Parts[key]; ok {
			of = own
		}
		all = append(all, of...)
		if m != nil && m.mean != nil {
			all = append(all, factor(m.of.repeats, *m.mean, m.entry.source()))
		}
	}
	if given.Flux.Known {
		parts("luminous_flux", fluxFactors(c.Defaults.Flux, lamp))
	}
	if given.Power.Known {
		parts("power", powerFactors(c.Defaults.Power, given.Power.Value))
	}
	if given.PowerLamp.Known {
		parts("power_lamp", lampPowerFactors(c.Defaults.Power))
	}
	for i := range c.Inputs {
		e := &c.Inputs[i]
		m, err := meaningOf(e.Name)
		if err != nil || m.Part == OfSpectrometer {
			continue
		}
		f, err := e.factor(lamp, given)
		if err != nil {
			return nil, err
		}
		at := slices.IndexFunc(all, func(f Factor) bool { return f.Name == e.Name })
		if at < 0 {
			all = append(all, f)
		} else {
			all[at] = f
		}
	}
	return slices.DeleteFunc(all, func(f Factor) bool {
		acts := f.Heat != 0 || f.Light != 0 && (given.Flux.Known || absolute) || f.Flux != 0 && given.Flux.Known ||
			f.Power != 0 && given.Power.Known || f.Lamp != 0 && given.PowerLamp.Known
		return !acts
	}), nil
}

// factor turns an entry that acts on flux or power into a relative error.
func (e *Entry) factor(lamp Lamp, given assay.Given) (Factor, error) {
	d, err := e.distribution()
	if err != nil {
		return Factor{}, err
	}
	f := factor(e.Name, Distribution{}, e.source())
	per := 1.0 // relative error for one of the unit
	switch e.Unit {
	case "%":
		per = 0.01
	case "W", "lm":
		of := given.Power
		switch {
		case e.Unit == "lm":
			of = given.Flux
		case f.Lamp != 0:
			of = given.PowerLamp
		}
		if !of.Known { // it acts on nothing
			return f, nil
		}
		per = 1 / of.Value
		if e.Readings != nil {
			d.centre = 0
		}
	case "m", "cm", "mm", "V", "lx":
		if !(d.centre > 0) {
			return f, e.fault("in %s it needs its value too, above zero", e.Unit)
		}
		per, d.centre = 1/d.centre, 0
	case "K":
		per = or(e.Light, habits[lamp].lightByAir)
		f.Light = 1
	}
	if e.Name == SupplyVoltage {
		h := habits[lamp]
		f.Light, f.Power = or(e.Light, h.lightByVoltage), or(e.Power, h.powerByVoltage)
		f.Lamp, f.Heat = f.Power, h.heatByVoltage
	} else if e.Power != nil || e.Light != nil && e.Name != AirTemperature {
		return f, e.fault("\"light\" and \"power\" belong to %q and %q", SupplyVoltage, AirTemperature)
	}
	if e.Readings != nil && slices.Contains(relative, e.Unit) {
		d.centre = 0 // the readings' mean is the figure they are repeats of
	}
	f.Distribution = d.scaled(per)
	return f, nil
}

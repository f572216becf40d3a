// Package cost says what light costs: energy, money and carbon of a lamp in a
// year and for a million lumen-hours, and what becomes of them when one lamp
// takes the place of another for the same light.
//
//	report, err := cost.Compute(ctx, []cost.Lamp{old, new}, cost.Terms{
//		Hours: cost.Exactly(1000), Tariff: cost.Exactly(0.30), Currency: "EUR"})
//
// # Whose figures
//
// Hours, tariff, prices, lives and the carbon of a kilowatt-hour are the user's.
// There are no defaults: a figure that needs one that was not given has none,
// and says which. Money needs its currency; nothing is converted.
//
// # Equal light
//
// Lamps are compared for the same lumens: n = Φ_A/Φ_B of lamp B give the light
// of one A, and n need not be whole, since a room has many lamps. What a whole
// number of them would give stands beside it.
//
// # Uncertainty
//
// Every input is a value with its standard uncertainty, and the law of
// propagation carries them (JCGM 100:2008, package uncertainty). What is common
// to two lamps, such as the tariff, cancels where it should, since both figures
// come from one model. Fluxes are taken as independent: where both were read on
// one meter the scale they share cancels too, and the uncertainty of n is
// smaller than stated. Where the straight law will not do, as for a payback
// whose saving may be nothing, the interval is that of draws (JCGM 101:2008).
//
// Neither lumen depreciation, nor discounting, nor the energy of making a lamp
// is counted.
package cost

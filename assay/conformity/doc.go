// Package conformity holds rules of law and what measured figures say under
// them. So far: the energy class of Regulation (EU) 2019/2015.
//
// A finding here is arithmetic on what was measured. One lamp is one lamp, a
// bench is not a market surveillance laboratory, and nothing here is legal
// advice.
package conformity

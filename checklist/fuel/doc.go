// Package fuel computes whether a fuel system feeds its engine: blends,
// demand, injectors, pumps, lines and the waves in them, wiring, vapour, tanks
// over a lap, carburettors, and lines fitted through what a car showed before.
//
// Start with [Plan]: it takes a [System], the parts and the envelope the car
// may leave under, and returns a [Result] with every number on the way.
// [SupportedPower] asks what gives out first, [WhatIf] what a change buys,
// [Uncertainty] how far the answer can be trusted.
//
// Every formula is a function of its own, on the types of package quantity,
// with its equation, range and source. Outside its range a formula returns a
// [RangeError] that names the range; it never extrapolates in silence.
//
// Where a source is marked "common practice" or "from memory" it was not read
// in a publication. Nothing here replaces a measurement on the car, the makers'
// instructions or the local code.
package fuel

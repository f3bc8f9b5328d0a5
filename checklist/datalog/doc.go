// Package datalog reads a logged run of an engine and computes what it proves
// about the fuel system: the pressure across the injectors, commanded duty,
// lambda error, volts lost, implied fuel flow, each with its worst 0.3 s and
// the time of it; which faults the log looks like; and what the log cannot
// prove.
//
// [Propose] reads the head of a file and suggests which column is which
// channel; a person confirms the [Mapping]; [Analyse] reads the file once, in
// memory that does not grow with its rows: blocks of rows are read ahead in a
// goroutine of their own, and the pressure wave in the rail is looked
// for in windows of a spectrum. Results are numbers and states of
// proof. The limits they are held to are rules and live elsewhere.
//
// A column without a unit, a pressure without its reference, a pulse width
// without its injections per cycle is refused and never guessed.
package datalog

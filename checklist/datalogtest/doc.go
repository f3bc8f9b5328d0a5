// Package datalogtest invents logs for tests and benchmarks: a car whose fuel
// pressure comes from the hydraulic network of package fuel is driven through
// key on, idle with the reference hose off, pulls and stop, and written down in
// the dialect of a logger, with the noise, rate and resolution of its sensors.
//
// Start with [Example] or [Random] for a [Car], put its [Car.Across] into a
// [Drive], and [Render] its shots. What comes out is invented: it is regression
// data and proves nothing about an engine.
//
// It knows no reader of logs, so that the tests of one can use it.
package datalogtest

// Package migrate turns the bytes of an older record format into those of a
// newer one, one file a step. Version 1 is the first format, so there is no
// step yet; the bytes of entries never change, whatever the step.
package migrate

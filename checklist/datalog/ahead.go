package datalog

// blockRows is how many rows are read ahead at a time.
const blockRows = 256

// block is some rows of numbers, one behind the other.
type block struct {
	at     []float64
	values []float64
}

// ahead reads rows in a goroutine of its own while the rows before are
// analysed, and calls add for each in order. It returns when all are read.
func ahead(log *rows, width int, add func(at float64, raw []float64)) {
	full, empty := make(chan block, 2), make(chan block, 3)
	for range cap(empty) {
		empty <- block{at: make([]float64, 0, blockRows), values: make([]float64, blockRows*width)}
	}
	go func() {
		defer close(full)
		for more := true; more; {
			b := <-empty
			b.at = b.at[:0]
			more = b.fill(log, width)
			full <- b
		}
	}()
	for b := range full {
		for i, at := range b.at {
			add(at, b.values[i*width:(i+1)*width])
		}
		empty <- b
	}
}

// fill reports whether there may be more rows.
func (b *block) fill(log *rows, width int) bool {
	for i := range blockRows {
		at, ok := log.next(b.values[i*width : (i+1)*width])
		if !ok {
			return false
		}
		b.at = append(b.at, at)
	}
	return true
}

package datalog

// How many rows are read ahead at a time, and how many times as many at most:
// enough that neither goroutine waits because the other has just lost its
// processor.
const (
	blockRows   = 1024
	blocksAhead = 4
)

// block is some rows of a log, one behind the other.
type block struct {
	rows    []row
	changes []change
}

// row is a time in seconds and where its changes end in the block.
type row struct {
	at  float64
	end int
}

// change is a number that is not known to be that of the row before, NaN where
// the cell is blank or text.
type change struct {
	place int
	value float64
}

// ahead reads rows, and hashes what they stand in, in a goroutine of its own
// while the rows before are analysed, and calls add for each in order; the two
// take about as long. It returns when all are read.
func ahead(log *rows, width int, add func(at float64, changes []change)) {
	full, empty := make(chan *block, blocksAhead), make(chan *block, blocksAhead+1)
	for range cap(empty) {
		empty <- &block{make([]row, 0, blockRows), make([]change, 0, blockRows*width)}
	}
	go func() {
		defer close(full)
		for more := true; more; {
			b := <-empty
			more = b.fill(log)
			full <- b
		}
	}()
	for b := range full {
		begin := 0
		for _, row := range b.rows {
			add(row.at, b.changes[begin:row.end])
			begin = row.end
		}
		empty <- b
	}
}

// fill reports whether there may be more rows.
func (b *block) fill(log *rows) bool {
	b.rows, b.changes = b.rows[:0], b.changes[:0]
	for range blockRows {
		if !log.read(b) {
			return false
		}
	}
	return true
}

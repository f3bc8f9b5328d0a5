package past

import (
	"slices"

	"feedproof/checklist/state"
	"feedproof/schema"
)

// Strand is where an entry stands among those that were written while bays were
// apart: on which line of how many side by side. An entry that everybody saw
// who wrote later, and that saw all before it, stands on the one line of all.
type Strand struct {
	Entry   schema.Entry
	Devices []string       // that wrote side by side, by name; none for the one line
	Line    int            // index of its own among them
	Unknown []schema.Entry // what it did not know of, and what did not know of it
}

// Strands are the entries of a record in their order, each with its strand.
func Strands(r schema.Record) []Strand {
	written := state.Written(r)
	sight := schema.NewSight(written)
	out := make([]Strand, len(written))
	run := 0 // where the run of entries side by side began
	var devices []string
	end := func(i int) {
		slices.Sort(devices)
		for j := run; j < i; j++ {
			out[j].Devices, out[j].Line = devices, slices.Index(devices, out[j].Entry.Device)
		}
		run, devices = i, nil
	}
	for i, e := range written {
		out[i] = Strand{Entry: e, Unknown: sight.Unseen(e.ID)}
		if len(out[i].Unknown) == 0 {
			end(i)
			run = i + 1
			continue
		}
		if !slices.Contains(devices, e.Device) {
			devices = append(devices, e.Device)
		}
	}
	end(len(written))
	return out
}

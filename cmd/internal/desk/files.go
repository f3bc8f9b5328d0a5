package desk

import (
	"slices"

	"feedproof/checklist/state"
	"feedproof/records"
	"feedproof/schema"
)

// Files lists every record of the shop as committed: its own, then gauges, parts
// and cars.
func (d *Desk) Files() ([]records.File, error) {
	view, err := d.View()
	if err != nil {
		return nil, err
	}
	own, err := view.File(schema.ShopRecord, "")
	if err != nil {
		return nil, err
	}
	files := []records.File{own}
	for _, kind := range []schema.RecordKind{schema.GaugeRecord, schema.PartRecord, schema.VehicleRecord} {
		folders, err := view.Folders(kind)
		if err != nil {
			return nil, err
		}
		for _, f := range folders {
			more, err := view.Files(f)
			if err != nil {
				return nil, err
			}
			files = append(files, more...)
		}
	}
	return files, nil
}

// FilesOf lists a car's record as committed, and those of the parts and gauges
// that it names.
func (d *Desk) FilesOf(c Car) ([]records.File, error) {
	view, err := d.View()
	if err != nil {
		return nil, err
	}
	f, err := view.File(schema.VehicleRecord, c.ID)
	if err != nil {
		return nil, err
	}
	files := []records.File{f}
	for _, named := range namedBy(c.Record) {
		if f, err := view.File(named.Kind, named.ID); err == nil {
			files = append(files, f)
		}
	}
	return files, nil
}

// namedBy lists the parts and gauges that a car's record names, each once.
func namedBy(r schema.Record) []records.File {
	var all []records.File
	add := func(kind schema.RecordKind, id string) {
		if f := (records.File{Kind: kind, ID: id}); id != "" && !slices.Contains(all, f) {
			all = append(all, f)
		}
	}
	for _, e := range state.Written(r) {
		if d, err := schema.Into[schema.FitData](e); err == nil {
			add(schema.PartRecord, d.Part)
		}
		if d, err := schema.Into[schema.PlanData](e); err == nil {
			add(schema.PartRecord, d.Pumps.Part)
			if d.Injectors != nil {
				add(schema.PartRecord, d.Injectors.Part)
			}
		}
		if d, err := schema.Into[schema.ReadingData](e); err == nil {
			for _, v := range d.Values {
				if v.Gauge != nil {
					add(schema.GaugeRecord, v.Gauge.Gauge)
				}
			}
		}
	}
	return all
}

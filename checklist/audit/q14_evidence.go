package audit

import (
	"maps"
	"slices"

	"feedproof/checklist/past"
	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q14", Name: "reused", Title: "Which photo, file or log stands in more than one car or visit?",
	How: "Every file that evidence and log entries name is compared by its SHA-256, photos also by that of the file as it came. " +
		"One that stands in two cars, or in two visits of one car, is listed with each place.",
	Needs: "The same picture saved anew is another file and does not show. A tag of the shop that is photographed once on purpose is no fault: ask.",
}, askReused)

func askReused(a *asking) error {
	a.carColumns("visit: number", "what: the file", "written: when", "by: who", "sha256: of the file", "places: where it stands")
	type place struct {
		record string
		hashFact
	}
	files := map[string][]place{}
	err := each(a, tableHashes, "", func(record string, rows []hashFact) error {
		for _, h := range rows {
			files[h.SHA256] = append(files[h.SHA256], place{record, h})
		}
		return nil
	})
	if err != nil {
		return err
	}
	for _, sha := range slices.Sorted(maps.Keys(files)) {
		stays := map[string]bool{}
		for _, p := range files[sha] {
			stays[p.record+" "+p.Visit] = true
		}
		if len(stays) < 2 {
			continue
		}
		for _, p := range files[sha] {
			if err := a.row(p.record, []string{p.Entry}, p.Visit, p.What, minute(p.at()), p.By, sha, len(stays)); err != nil {
				return err
			}
		}
	}
	return nil
}

var tableHashes = vehicleTable("hashes", hashFacts)

// hashFact is a photo, file or log by its hash.
type hashFact struct {
	stamp
	SHA256 string `json:"h"`
	What   string `json:"w"`
	Visit  string `json:"v"`
}

func hashFacts(s subject) []hashFact {
	var out []hashFact
	for _, e := range s.car.Written() {
		add := func(sha, what string) {
			if sha != "" {
				v, _ := past.VisitAt(s.visits, e)
				out = append(out, hashFact{*stampOf(e), sha, what, v.Number})
			}
		}
		if d, is := past.As[schema.EvidenceData](e); is {
			add(d.SHA256, d.What)
			if d.Original != d.SHA256 {
				add(d.Original, d.What+" (original)")
			}
		}
		if d, is := past.As[schema.DatalogData](e); is {
			add(d.SHA256, "log "+d.File)
		}
	}
	return out
}

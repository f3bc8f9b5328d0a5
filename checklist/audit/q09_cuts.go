package audit

import (
	"fmt"
	"strings"
	"time"

	"feedproof/schema"
)

var _ = register(Question{
	ID: "Q09", Name: "tank-cuts", Title: "Which tanks were cut or welded, under which certificate, and how long after the last gas reading?",
	How: "Every step that drills, saws, grinds or welds on a tank. Beside it the last gas reading in the tank before it, in order of counters, with its oxygen, " +
		"the minutes between the two as both were claimed, and the certificate of the tank's cleaning that was written before it.",
	Needs: "Minutes are by the clocks of the devices; `K09` and `K10` judge whether the proof holds.",
}, askTankCuts)

func askTankCuts(a *asking) error {
	a.carColumns("joint: what was cut", "cut: when", "by: who", "minutes: from the last gas reading in the tank to the cut; blank without one", "gas: as read", "oxygen: as read", "certificate: who cleaned it, the tank and when", "tank: tag in the car's description")
	err := each(a, tableCuts, "", func(record string, rows []cutFact) error {
		for _, f := range rows {
			minutes := any("")
			if f.Gas != nil {
				minutes = int(f.at().Sub(f.Gas.at()) / time.Minute)
			}
			if err := a.row(record, []string{f.Entry, f.Gas.id(), f.Paper.id()}, f.Joint, minute(f.at()), f.By, minutes, f.Read, f.Oxygen, certificateText(f.Certificate), f.Tank); err != nil {
				return err
			}
		}
		return nil
	})
	a.sortRows(3, 0)
	return err
}

func certificateText(c *schema.Certificate) string {
	if c == nil {
		return ""
	}
	return strings.TrimSpace(fmt.Sprintf("%s %s %s", c.By, c.Tank, c.At))
}

var tableCuts = vehicleTable("cuts", cutFacts)

// cutFact is a tank that was drilled, sawn or welded.
type cutFact struct {
	stamp
	Joint       string              `json:"j"`
	Tank        string              `json:"k,omitempty"` // tag of the car's tank
	Gas         *stamp              `json:"g,omitempty"` // last gas reading in the tank before it
	Read        string              `json:"r,omitempty"` // as written
	Oxygen      string              `json:"o,omitempty"`
	Certificate *schema.Certificate `json:"c,omitempty"`
	Paper       *stamp              `json:"p,omitempty"` // the entry that holds the certificate
}

func cutFacts(s subject) []cutFact {
	var out []cutFact
	for _, o := range s.car.Openings {
		if !o.HotOrCut {
			continue
		}
		f := cutFact{stamp: *stampOf(o.Entry), Joint: o.Joint, Tank: s.car.Vehicle.Tank}
		for _, r := range s.car.Readings {
			if r.Data.Test != "gas" || schema.Order(r.Entry, o.Entry) > 0 {
				continue
			}
			if v, ok := r.Value("tank"); ok {
				f.Gas, f.Read, f.Oxygen = stampOf(r.Entry), v.Written().String(), ""
				if x, ok := r.Value("oxygen"); ok {
					f.Oxygen = x.Written().String()
				}
			}
		}
		for _, k := range s.car.Cautions {
			if k.Data.Certificate != nil && schema.Order(k.Entry, o.Entry) < 0 {
				f.Certificate, f.Paper = k.Data.Certificate, stampOf(k.Entry)
			}
		}
		out = append(out, f)
	}
	return out
}

package facts

import (
	"fmt"
	"strings"

	"feedproof/checklist"
	"feedproof/checklist/datalog"
	"feedproof/checklist/rules"
	"feedproof/schema/quantity"
)

// LogPage is what a datalog holds, for a screen or as JSON.
type LogPage struct {
	File      string       `json:"file"`
	SHA256    string       `json:"sha256"`
	Summary   string       `json:"summary"`
	From      string       `json:"mapping_from"` // whose word the mapping is
	Columns   []LogColumn  `json:"columns"`
	Worst     []LogWorst   `json:"worst"`
	Unproven  []LogProof   `json:"unproven"`
	Looks     []LogLook    `json:"looks_like"`
	Predicted LogPredicted `json:"predicted"`
	Beside    *LogBeside   `json:"beside,omitempty"`
}

// LogPredicted is what the network of the plan says of the worst pull.
type LogPredicted struct {
	Named  string     `json:"named,omitempty"` // "as planned", a fault, or nothing
	Text   string     `json:"text"`
	AsGood []string   `json:"cannot_be_told_from,omitempty"`
	Next   string     `json:"next,omitempty"`
	Models []LogModel `json:"models,omitempty"`
}

// LogModel is how near one model comes, the nearest first.
type LogModel struct {
	Name   string `json:"name"`
	Fitted string `json:"fitted,omitempty"`
	RMS    string `json:"off_rms"`
	Worst  string `json:"measured_below_by"`
	At     string `json:"at"`
}

// LogColumn is a column and what it was taken for.
type LogColumn struct {
	Column  string `json:"column"`
	Channel string `json:"channel"`
	Unit    string `json:"unit"`
}

// LogWorst is a worst value and its time in the log.
type LogWorst struct {
	Name  string `json:"name"`
	Value string `json:"value"`
	At    string `json:"at"`
}

// LogProof is what the log cannot prove, and why.
type LogProof struct {
	Check string `json:"check"`
	State string `json:"state"`
	Text  string `json:"text"`
}

// LogLook is a fault that the log looks like.
type LogLook struct {
	ID     string   `json:"id"`
	Name   string   `json:"name"`
	Text   string   `json:"text"`
	Causes []string `json:"causes"`
	Next   string   `json:"next"`
}

// NewLog lays a log's result out, with what the plan predicts for it.
func NewLog(file string, r datalog.Result, predicted checklist.Prediction) LogPage {
	p := LogPage{File: file, SHA256: r.Mapping.SHA256, Summary: logSummary(r), Predicted: logPredicted(predicted)}
	for _, c := range r.Mapping.Columns {
		if c.Channel != datalog.NotUsed {
			p.Columns = append(p.Columns, LogColumn{c.Column, string(c.Channel), strings.TrimSpace(c.Unit + " " + string(c.Sensor))})
		}
	}
	for _, v := range rules.LogValues(r) {
		at := ""
		if v.At != "" {
			at = v.At + " s"
		}
		p.Worst = append(p.Worst, LogWorst{v.Name, threeDecimals(v.Value) + " " + v.Unit, at})
	}
	for _, q := range r.Proofs {
		if q.State != datalog.Proven {
			p.Unproven = append(p.Unproven, LogProof{q.Check, string(q.State), q.Check + ": " + q.Text})
		}
	}
	for _, g := range r.Named() {
		p.Looks = append(p.Looks, LogLook{g.ID, g.Name, g.Text, g.Causes, g.Next})
	}
	return p
}

func logPredicted(p checklist.Prediction) LogPredicted {
	out := LogPredicted{Named: p.Named, Text: p.Text, AsGood: p.AsGood, Next: p.Next}
	if !p.Known {
		out.Text = "not compared: " + p.Why
	}
	for _, m := range p.Models {
		out.Models = append(out.Models, LogModel{m.Name, m.Fitted, quantity.Format(m.RMS, "bar", 3), quantity.Format(m.Worst.Value, "bar", 3), quantity.Format(m.Worst.At, "s", 1)})
	}
	return out
}

// threeDecimals cuts a number for the screen; the entry keeps all its digits.
func threeDecimals(number string) string {
	whole, decimals, ok := strings.Cut(number, ".")
	if !ok || len(decimals) <= 3 {
		return number
	}
	return whole + "." + decimals[:3]
}

func logSummary(r datalog.Result) string {
	text := fmt.Sprintf("%d rows over %s at %.0f a second, %d loaded pulls", r.Reading.Rows, quantity.Format(r.Timing.Length, "s", 1), float64(r.Timing.Rate), r.Loaded)
	if r.Reading.Bad > 0 {
		text += fmt.Sprintf(", %d bad rows left out (first: line %d)", r.Reading.Bad, r.Reading.BadRows[0].Line)
	}
	return text
}

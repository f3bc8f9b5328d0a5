package audit

var _ = register(Question{
	ID: "Q18", Name: "bump", Title: "Which gas readings were taken without a bump test of the meter on the same day?",
	Args: []Arg{{Name: "METER", What: "one meter; all of them without it", Optional: true}},
	How:  "Every gas reading whose copy of the meter's state holds no good bump test on the day of the reading (UTC), before it.",
}, askBump)

func askBump(a *asking) error {
	if err := a.knownGauge("METER"); err != nil {
		return err
	}
	a.carColumns("read: when", "by: who", "meter: which", "bumped: the last good bump test before it, as copied with the reading")
	err := each(a, tableGauges, `"u":[`, func(record string, rows []gaugeFact) error {
		for _, f := range rows {
			if meter := a.args["METER"]; meter != "" && meter != f.Gauge {
				continue
			}
			for _, u := range f.Unbumped {
				if err := a.row(record, []string{u.Entry}, minute(u.at()), u.By, f.Gauge, u.Bumped); err != nil {
					return err
				}
			}
		}
		return nil
	})
	a.sortRows(2, 0)
	return err
}

package cli

import (
	"time"

	"feedproof/checklist/past"
	"feedproof/cmd/internal/desk"
	"feedproof/schema"

	"github.com/spf13/cobra"
)

// keptYears is how long a record is kept after the shop's care for the car
// ended: shop policy. Laws on product liability and on personal data differ
// from place to place and come first.
const keptYears = 10

func (a *app) vehicleClose() *cobra.Command {
	var why, until string
	c := &cobra.Command{
		Use: "close CAR", Short: "end the shop's care for a car: sold on, scrapped, taken elsewhere", Args: takes("CAR"),
		Long: `Say that the shop cares for a car no longer, and until when its record is kept:
ten years on, unless another date is given (shop policy; local law comes first).
Nothing is deleted: the record stays, and the car is no longer reminded of. A
new visit takes the car back. The next owner gets what is technical:
feedproof export DIR --car CAR --for new-owner.`,
		Example: `  feedproof vehicle close kestrel --why "sold on"`,
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.open()
			if err != nil {
				return err
			}
			return s.endCare(args[0], why, until)
		},
	}
	c.Flags().StringVar(&why, "why", "", "sold on, scrapped, moved away, ...")
	c.Flags().StringVar(&until, "keep-until", "", "date until which the record is kept (default: ten years on)")
	return c
}

func (s *session) endCare(name, why, until string) error {
	v, err := s.Car(name)
	if err != nil {
		return err
	}
	if why == "" {
		return wrong("feedproof vehicle close "+desk.Quoted(v.Data.Name)+` --why "sold on"`, "--why: is missing")
	}
	if until == "" {
		until = s.Now().AddDate(keptYears, 0, 0).Format(time.DateOnly)
	}
	if until, err = day(s.Now(), "keep-until", until); err != nil {
		return err
	}
	if v.InShop() {
		return failed("feedproof visit close "+desk.Quoted(v.Data.Name), "%s: is in the shop", v.Data.Name)
	}
	return s.put(schema.VehicleRecord, v.ID, s.Now(), v.Data.Name+": care ended, "+why+"; the record is kept until "+until, past.CareNote(why, until))
}

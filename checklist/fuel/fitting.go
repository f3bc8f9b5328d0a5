package fuel

// HoseSpecification names a hose family with a published table of bores.
type HoseSpecification string

// Specifications. Source of the first two tables: FAA AC 43.13-1B (1998), Table
// 9-3, its sizes above -16 from memory; of the SAE J517 hoses: from memory.
const (
	SingleBraid HoseSpecification = "MIL-H-8794"
	MultiBraid  HoseSpecification = "MIL-H-8788"
	OneWire     HoseSpecification = "SAE 100R1" // bore is the dash number in sixteenths
	TwoWire     HoseSpecification = "SAE 100R2" // likewise
	FibreBraid  HoseSpecification = "SAE 100R5" // sizes of tube, as MIL-H-8794
)

// boreSixtyFourths is the inside diameter in 1/64 in by dash number.
var boreSixtyFourths = map[HoseSpecification]map[int]float64{
	SingleBraid: {3: 8, 4: 12, 5: 16, 6: 20, 8: 26, 10: 32, 12: 40, 16: 56, 20: 72, 24: 88, 32: 116, 40: 152, 48: 192},
	MultiBraid:  {4: 14, 5: 18, 6: 22, 8: 28, 10: 36, 12: 44, 16: 56},
	OneWire:     {3: 12, 4: 16, 5: 20, 6: 24, 8: 32, 10: 40, 12: 48, 16: 64, 20: 80, 24: 96, 32: 128},
	TwoWire:     {3: 12, 4: 16, 5: 20, 6: 24, 8: 32, 10: 40, 12: 48, 16: 64, 20: 80, 24: 96, 32: 128},
	FibreBraid:  {4: 12, 5: 16, 6: 20, 8: 26, 10: 32, 12: 40, 16: 56, 20: 72, 24: 88, 32: 116},
}

// minorLoss lists K of fittings. Source: USEPA EPANET 2.2 User Manual
// (EPA/600/R-20/133), minor-loss table.
var minorLoss = map[string]float64{
	"globe valve": 10, "angle valve": 5, "swing check valve": 2.5, "gate valve": 0.2,
	"short-radius elbow": 0.9, "medium-radius elbow": 0.8, "long-radius elbow": 0.6, "45 degree elbow": 0.4,
	"closed return bend": 2.2, "standard tee - flow through run": 0.6, "standard tee - flow through branch": 1.8,
	"square entrance": 0.5, "exit": 1,
}

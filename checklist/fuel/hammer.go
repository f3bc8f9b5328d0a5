package fuel

// wallModulus of tube materials, Pa. Steel as in Wylie & Streeter's examples;
// the others from memory of handbook tables, within 3 %.
var wallModulus = map[string]float64{"steel": 207e9, "stainless": 193e9, "aluminium": 70e9, "copper": 117e9, "brass": 105e9}

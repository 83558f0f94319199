package bench

import "math"

// Constants and formulae of the bench. Each says where it comes from; values
// that a laboratory may replace live in the site file instead.
const (
	// R is the molar gas constant, J/(mol K), CODATA 2018 (exact).
	R = 8.314462618
	// Atm is one standard atmosphere in mbar (exact by definition).
	Atm = 1013.25
	// zeroC is 0 °C in kelvin (exact).
	zeroC = 273.15
	// roomC is the temperature at which gas volumes are quoted, °C.
	roomC = 20
	// MolarGas is the volume of a mol of ideal gas at 20 °C and 1 atm, L.
	MolarGas = R * (zeroC + roomC) / (Atm / 10) // 24.06
	// waterMass is the molar mass of water, g/mol (IUPAC 2021, abridged).
	waterMass = 18.015
)

// Dry air by volume, CRC Handbook of Chemistry and Physics, 83rd ed.,
// p. 14-19; carbon dioxide brought to 420 ppm (present level, common figure).
const (
	airN2  = 0.7808
	airO2  = 0.2095
	airAr  = 0.0093
	airCO2 = 0.00042
)

// Gases is the composition of a head space in mol fractions. What is not
// listed is inert or solvent vapour.
type Gases struct {
	N2, O2, Ar, CO2, H2O, Vapour float64
}

// Air is room air at a relative humidity (0 to 1) and temperature.
func Air(humidity, tC float64) Gases {
	w := humidity * SaturationMbar(tC) / Atm
	d := 1 - w
	return Gases{N2: airN2 * d, O2: airO2 * d, Ar: airAr * d, CO2: airCO2 * d, H2O: w}
}

// Pure is a supplied gas with its impurity (mol fraction) taken as air, the
// careful reading of a purity figure.
func Pure(gas string, impurity float64) Gases {
	g := Gases{N2: airN2 * impurity, O2: airO2 * impurity, Ar: airAr * impurity, CO2: airCO2 * impurity}
	switch gas {
	case "argon":
		g.Ar += 1 - impurity
	case "carbon dioxide":
		g.CO2 += 1 - impurity
	case "nitrogen":
		g.N2 += 1 - impurity
	default: // helium and other gases that none of the species here mind
	}
	return g
}

func (g Gases) mix(o Gases, keep float64) Gases {
	f := func(a, b float64) float64 { return b + (a-b)*keep }
	return Gases{f(g.N2, o.N2), f(g.O2, o.O2), f(g.Ar, o.Ar), f(g.CO2, o.CO2), f(g.H2O, o.H2O), f(g.Vapour, o.Vapour)}
}

// AfterCycles gives the head space after n evacuate–refill cycles:
// y_n − y_gas = (p_vac/p_fill)ⁿ (y_0 − y_gas), Crowl and Louvar, Chemical
// Process Safety, chapter 7 (vacuum purging with impure gas). Pressures in
// mbar.
func AfterCycles(start, gas Gases, vacuum, fill, n float64) Gases {
	return start.mix(gas, math.Pow(math.Min(1, vacuum/fill), n))
}

// AfterSweep gives the head space after v vessel volumes of gas, ideal
// mixing: y − y_gas = (y_0 − y_gas)·exp(−v), Crowl and Louvar, chapter 7
// (sweep-through purging).
func AfterSweep(start, gas Gases, v float64) Gases {
	return start.mix(gas, math.Exp(-math.Max(0, v)))
}

// CyclesNeeded is the number of evacuate–refill cycles (not rounded) that
// take a mol fraction y0 to y with pure gas, same source as AfterCycles.
func CyclesNeeded(y0, y, vacuum, fill float64) float64 {
	return math.Log(y/y0) / math.Log(vacuum/fill)
}

// SweepNeeded is the number of vessel volumes that take y0 to y with gas of
// impurity yGas, same source as AfterSweep.
func SweepNeeded(y0, y, yGas float64) float64 { return math.Log((y0 - yGas) / (y - yGas)) }

// SaturationMbar is the vapour pressure of water, mbar, by the Magnus form of
// Alduchov and Eskridge, J. Appl. Meteorol. 1996, 35, 601 (0.4 % between −40
// and 50 °C); above that by the Antoine constants of the NIST WebBook for 344
// to 373 K, which join it within 0.3 %.
func SaturationMbar(tC float64) float64 {
	if tC <= 55 {
		return 6.1094 * math.Exp(17.625*tC/(tC+243.04))
	}
	return 1000 * math.Pow(10, 5.0768-1659.793/(tC+zeroC-45.854))
}

// GasMmol is the amount of ideal gas, mmol, in a volume (mL) at a partial
// pressure (mbar) and temperature (°C).
func GasMmol(ml, mbar, tC float64) float64 {
	return mbar * 100 * ml * 1e-6 / (R * (tC + zeroC)) * 1000
}

// GasLitres is the volume of mmol of ideal gas at 20 °C and 1 atm, L.
func GasLitres(mmol float64) float64 { return mmol * MolarGas / 1000 }

// PressureBar is the pressure of a closed head space, bar absolute: what was
// gas in it at 1 atm and t0 (less the vapour it held, vapour0), heated to t,
// plus gas evolved, plus the vapour pressure of the liquid at t (ideal gas law
// and Dalton). Pressures of vapour in mbar.
func PressureBar(headspaceML, t0C, tC, gasMmol, vapour0, vapourMbar float64) float64 {
	if headspaceML <= 0 {
		headspaceML = 1
	}
	p := math.Max(0, Atm-vapour0) * (tC + zeroC) / (t0C + zeroC)
	p += gasMmol * 1e-3 * R * (tC + zeroC) / (headspaceML * 1e-6) / 100
	return (p + vapourMbar) / 1000
}

// ShrunkPressureBar is PressureBar where the liquid expands into the head space: the
// gas that filled h0 (mL) at t0 fills h at t, and what it was is pressed together by
// h0/h (Boyle).
func ShrunkPressureBar(h0ML, headspaceML, t0C, tC, gasMmol, vapour0, vapourMbar float64) float64 {
	if headspaceML <= 0 {
		headspaceML = 1
	}
	p := PressureBar(headspaceML, t0C, tC, gasMmol, vapour0, vapourMbar)
	return p + math.Max(0, Atm-vapour0)*(tC+zeroC)/(t0C+zeroC)*(h0ML/headspaceML-1)/1000
}

// AdiabaticRise is the temperature rise, K, of heat (kJ) in a heat capacity
// (J/K) with nothing lost: ΔT = Q/C.
func AdiabaticRise(kJ, jPerK float64) float64 {
	if jPerK <= 0 {
		return math.Inf(1)
	}
	return kJ * 1000 / jPerK
}

// WallWatts is what the wall of a stirred glass flask gives to a bath, W:
// U·A·ΔT with U of a flask in a bath (see bathU) and A the surface of a sphere of
// the liquid's volume (mL).
func WallWatts(ml, deltaK float64) float64 { return bathU * WallArea(ml) * deltaK }

// Contraction is the gas drawn in, mL, when a head space cools from t1 to t2
// (°C) at constant pressure, ideal gas, after the vapour shares of its gas at
// both ends (mol fractions) have condensed.
func Contraction(headspaceML, t1C, t2C, vapour1, vapour2 float64) float64 {
	n := headspaceML / (t1C + zeroC) * (1 - vapour1)
	v2 := n * (t2C + zeroC) / (1 - vapour2)
	return math.Max(0, headspaceML-v2)
}

// RoomOxygen is the oxygen left, %, when a volume of gas is released into a
// room with perfect mixing and no ventilation: 100·0.2095·(V_r − V_g)/V_r,
// as used by university cryogen calculations after BCGA guidance.
func RoomOxygen(roomM3, gasM3 float64) float64 {
	return math.Max(0, 100*airO2*(roomM3-gasM3)/roomM3)
}

// RoomOxygenVented is the long-run oxygen, %, when gas enters a ventilated room at
// a steady rate: the drop is the share of the gas in what the ventilation draws
// off, 20.95·Q/(V·n), University of Oxford, Policy Statement S4/03, appendix 1. The
// fans of a laboratory draw, so that the gas takes the place of fresh air; where
// they blow, the share is Q/(Q + V·n), which is less.
func RoomOxygenVented(roomM3, changesPerHour, gasM3PerHour float64) float64 {
	return math.Max(0, 100*airO2*(1-gasM3PerHour/(roomM3*changesPerHour)))
}

// MolarWater is the amount of water in a liquid, mmol, from its volume (mL),
// density (g/mL) and water content (ppm by mass):
// n = V·ρ·ppm·10⁻⁶/M, M = 18.015 g/mol.
func MolarWater(ml, density, ppm float64) float64 {
	return ml * density * ppm * 1e-6 / waterMass * 1000
}

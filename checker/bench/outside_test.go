package bench

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > relative*math.Abs(want) {
		t.Errorf("%s: got %v, want %v within %v %%", what, got, want, 100*relative)
	}
}

// Worked examples of purging. Branan, Rules of Thumb for Chemical Engineers,
// purging section; Crowl and Louvar, Chemical Process Safety, chapter 7.
func TestPurgingWorkedExamples(t *testing.T) {
	const mmHg = 1.33322
	for _, c := range []struct {
		name        string
		got, want   float64
		withinShare float64
	}{
		{"Branan, vacuum purge 21 to 1 % at 0.5 atm", CyclesNeeded(0.21, 0.01, 0.5, 1), 4.4, 0.01},
		{"Branan, sweep 21 to 1 %", SweepNeeded(0.21, 0.01, 0), 3.1, 0.02},
		{"after Branan, 6 mmHg to 5 ppm", CyclesNeeded(0.21, 5e-6, 6, 760), 2.2, 0.01},
		{"Branan, pressure purge at 5 atm, two cycles", AfterCycles(Gases{O2: 21}, Gases{}, 1, 5, 2).O2, 0.84, 0.001},
		{"Crowl and Louvar, vacuum purge at 20 mmHg to 1 ppm", CyclesNeeded(0.21, 1e-6, 20*mmHg, 760*mmHg), 3.37, 0.001},
		{"Crowl and Louvar, pressure purge at 80 psig to 1 ppm", CyclesNeeded(0.21, 1e-6, 14.7, 94.7), 6.6, 0.005},
		{"Crowl and Louvar, sweep of 1000 ft3 with 0.01 % oxygen gas", 1000 * SweepNeeded(0.21, 0.0125, 0.0001), 2830, 0.001},
	} {
		near(t, c.name, c.got, c.want, c.withinShare)
	}
}

// The cycle table follows from Crowl and Louvar's formula with 20.95 % oxygen.
func TestCycleTable(t *testing.T) {
	for _, c := range []struct{ mbar, n, want float64 }{
		{10, 1, 2.068e-3}, {10, 2, 2.041e-5}, {10, 3, 2.014e-7},
		{1, 1, 2.068e-4}, {1, 2, 2.041e-7}, {1, 3, 2.014e-10},
		{0.1, 1, 2.068e-5}, {0.1, 2, 2.041e-9}, {0.05, 4, 1.242e-18},
	} {
		near(t, "cycles", AfterCycles(Gases{O2: airO2}, Gases{}, c.mbar, Atm, c.n).O2, c.want, 0.001)
	}
}

// Vapour pressure of water: CRC Handbook of Chemistry and Physics, 1992–93.
func TestWaterSaturation(t *testing.T) {
	for _, c := range []struct{ tC, kPa float64 }{
		{0, 0.61129}, {5, 0.87260}, {10, 1.2281}, {15, 1.7056}, {20, 2.3388}, {25, 3.1690}, {30, 4.2455}, {40, 7.3814}, {50, 12.344}, {80, 47.373}, {100, 101.32},
	} {
		near(t, "saturation", SaturationMbar(c.tC)/10, c.kPa, 0.005)
	}
}

// Water in wet diethyl ether: about 1.5 g in 100 mL is about 0.83 mol/L, a
// trade fact; THF at 107 and 4 ppm, after Williams and Lawton, J. Org. Chem.
// 2010, 75, 8351, with the density of the CRC Handbook.
func TestWaterOfSolvents(t *testing.T) {
	near(t, "1.5 g per 100 mL", 1.5/waterMass/0.1, 0.83, 0.01)
	near(t, "1 L of THF at 107 ppm, mmol", MolarWater(1000, 0.885, 107), 5.26, 0.005)
	near(t, "1 L of THF at 4 ppm, mmol", MolarWater(1000, 0.885, 4), 0.197, 0.005)
}

// Adiabatic rises: BestChoice calorimetry problem (100 g acid and 100 g base);
// Stoessel, Thermal Safety of Chemical Processes (100 kJ/kg at 2 kJ/(kg K));
// 0.1 mol of butyllithium quenched in 88.5 g of THF.
func TestAdiabaticRise(t *testing.T) {
	near(t, "neutralisation", AdiabaticRise(6.502, 200*4.184), 7.77, 0.001)
	near(t, "neutralisation, theory", AdiabaticRise(0.05*55.8, 100*4.184), 6.67, 0.001)
	near(t, "Stoessel", AdiabaticRise(100, 2000), 50, 1e-9)
	near(t, "butyllithium in THF", AdiabaticRise(0.1*203.3, 88.5*1.72), 133.6, 0.001)
}

// Oxygen in a room: University of Oxford, Policy Statement S4/03, appendix 1
// (five Dewars in 36 m³); 10 L of liquid nitrogen in 60 m³ leaves about 18.5 %.
func TestRoomOxygen(t *testing.T) {
	// each Dewar loses 0.15 L of liquid a day; 700 L of gas per litre
	rate := 5 * 0.15 * 700 / 1000 / 24 * 2
	near(t, "gas per hour with the safety factor of two, m3/h", rate, 0.04375, 0.001)
	near(t, "drop of oxygen, %", 100*airO2-RoomOxygenVented(36, 0.4, rate), 21*0.00304, 0.003) // printed as 0.06
	near(t, "10 L liquid nitrogen in 60 m3", RoomOxygen(60, 7), 18.5, 0.005)
}

// 22 °C to −78 °C takes about 85 mL from a 250 mL head space (dry gas).
func TestContraction(t *testing.T) {
	near(t, "contraction", Contraction(250, 22, -78, 0, 0), 85, 0.01)
	if c := Contraction(250, 34, -78, 0.95, 0); c < 230 {
		t.Errorf("an ether-filled head space collapses almost wholly, got %v of 250 mL", c)
	}
}

// 5 mmol of gas in 50 mL adds about 2.4 bar; 0.2 mmol in 100 mL 0.05 bar.
func TestPressure(t *testing.T) {
	near(t, "5 mmol in 50 mL", PressureBar(50, 20, 20, 5, 0, 0)-1.01325, 2.44, 0.01)
	near(t, "0.2 mmol in 100 mL", PressureBar(100, 20, 20, 0.2, 0, 0)-1.01325, 0.049, 0.02)
}

// Purging: more cycles or more sweep never mean more oxygen, and the gas's
// own impurity is the floor.
func TestPurgingIsMonotone(t *testing.T) {
	gas := Pure("nitrogen", 1e-5)
	last := airO2
	for n := 1.0; n <= 12; n++ {
		o := AfterCycles(Gases{O2: airO2}, gas, 5, Atm, n).O2
		if o > last || o < gas.O2 {
			t.Fatalf("%v cycles leave %v after %v", n, o, last)
		}
		last = o
	}
	last = airO2
	for v := 0.5; v < 40; v += 0.5 {
		o := AfterSweep(Gases{O2: airO2}, gas, v).O2
		if o > last || o < gas.O2*(1-1e-9) {
			t.Fatalf("%v volumes leave %v after %v", v, o, last)
		}
		last = o
	}
}

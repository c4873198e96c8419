"""Answers of reference libraries, for the outside checks.

Reads one request a line on standard input, {"ask": name, "rows": [[number, ...], ...]}, and writes one line for each:
{"answers": [[number, ...], ...]} or {"error": text}. Where a library has the answer, it is that library's. Where it has none
(the drop of a wire, a gauge, a bridge, a duty cycle), the law is written here once more, and the library brings the units,
solves or integrates.
"""

import importlib.metadata
import json
import sys

LIBRARIES = [
    "numpy", "scipy", "pint", "uncertainties", "GTC", "thermocouple-its90", "thermocouples", "rtd-sensor",
    "thermistor-utils", "can-j1939",
]


def versions():
    return [f"{name} {importlib.metadata.version(name)}" for name in LIBRARIES]


def pint_circuits():
    import pint

    unit = pint.UnitRegistry()

    def wire_drop(amperes, ohms_per_kft, feet):
        drop = amperes * unit.ampere * ohms_per_kft * unit.ohm / (1000 * unit.foot) * feet * unit.foot
        return [drop.to(unit.volt).magnitude]

    def load(volts, ohms):
        amperes = volts * unit.volt / (ohms * unit.ohm)
        watts = amperes * volts * unit.volt
        return [amperes.to(unit.ampere).magnitude, watts.to(unit.watt).magnitude]

    def hours(ampere_hours, share, milliamperes):
        time = ampere_hours * unit.ampere_hour * share / (milliamperes * unit.milliampere)
        return [time.to(unit.second).magnitude]

    def tone_wheel(hertz, teeth):
        speed = hertz / unit.second / teeth * unit.revolution
        return [speed.to(unit.rpm).magnitude]

    def road_speed(rpm, meters):
        speed = (rpm * unit.rpm).to(unit.revolution / unit.second) / unit.revolution * meters * unit.meter
        return [speed.to(unit.kilometer / unit.hour).magnitude]

    def gauge(number):
        import math

        # The definition in inches; the library brings it to meters and square millimetres.
        diameter = 0.005 * unit.inch * 92 ** ((36 - number) / 39)
        area = math.pi / 4 * diameter**2
        return [diameter.to(unit.meter).magnitude, area.to(unit.millimeter**2).magnitude]

    return {"wire_drop": wire_drop, "load": load, "hours": hours, "tone_wheel": tone_wheel, "road_speed": road_speed,
            "gauge": gauge}


def uncertainties_library():
    from uncertainties import ufloat

    def two(a, ua, b, ub):
        one, other = ufloat(a, ua), ufloat(b, ub)
        return [(one / other).std_dev, (one * other).std_dev, (one - other).std_dev]

    return {"uncertainties": two}


def gtc_library():
    import GTC

    def correlated(a, ua, b, ub, correlation):
        one, other = GTC.ureal(a, ua, independent=False), GTC.ureal(b, ub, independent=False)
        GTC.set_correlation(correlation, one, other)
        return [GTC.uncertainty(one / other)]

    def rectangular(half):
        return [GTC.type_b.uniform(half)]

    return {"correlated": correlated, "rectangular": rectangular}


def thermocouples_libraries():
    import thermocouples
    from thermocouple_its90 import TypeK

    other = thermocouples.get_thermocouple("K")

    def volts(hot, cold):
        return [TypeK.emf(hot, reference=cold) / 1e3, other.temp_to_volt(hot) - other.temp_to_volt(cold)]

    def temperature(millivolts, cold):
        return [TypeK.temperature(millivolts, reference=cold)]

    return {"thermocouple_volts": volts, "thermocouple_temperature": temperature}


def rtd_library():
    from rtd_sensor import pt100, pt1000, tolerance

    def resistance(celsius):
        return [pt100.celsius_to_resistance(celsius), pt1000.celsius_to_resistance(celsius)]

    def temperature(ohms):
        return [pt100.resistance_to_celsius(ohms)]

    def slope(celsius):
        return [pt100.resistance_sensitivity_ohms_per_celsius(celsius)]

    return {"rtd_resistance": resistance, "rtd_temperature": temperature, "rtd_slope": slope}


def thermistor_library():
    from thermistor_utils import Beta_converter, SH_converter

    def beta(beta, known, known_at, celsius):
        converter = Beta_converter(beta, known, known_at)
        ohms = converter.resistance(celsius)
        return [ohms, converter.temperature(ohms)]

    def steinhart_hart(a, b, c, ohms):
        return [SH_converter(a, b, c).temperature(ohms)]

    def fit(t1, r1, t2, r2, t3, r3):
        converter = SH_converter.from_points([(t1, r1), (t2, r2), (t3, r3)])
        return [converter.A, converter.B, converter.C]

    return {"beta": beta, "steinhart_hart": steinhart_hart, "steinhart_hart_fit": fit}


def scipy_library():
    import numpy
    from scipy import integrate, interpolate, linalg, optimize, stats

    def normal(reading, low, high, u):
        # From the nearer tail, where the library keeps its digits too.
        norm = stats.norm(loc=reading, scale=u)
        if low > reading:
            return [norm.sf(low) - norm.sf(high)]
        return [norm.cdf(high) - norm.cdf(low)]

    def rectangular(reading, low, high, half):
        flat = stats.uniform(loc=reading - half, scale=2 * half)
        return [flat.cdf(high) - flat.cdf(low)]

    def fit(*numbers):
        half = len(numbers) // 2
        line = stats.linregress(numbers[:half], numbers[half:])
        off = numpy.asarray(numbers[half:]) - line.intercept - line.slope * numpy.asarray(numbers[:half])
        return [line.intercept, line.slope, float(numpy.abs(off).max())]

    def fit_trust(*numbers):
        half = len(numbers) // 2
        line = stats.linregress(numbers[:half], numbers[half:])
        off = numpy.asarray(numbers[half:]) - line.intercept - line.slope * numpy.asarray(numbers[:half])
        return [line.rvalue, line.intercept_stderr, line.stderr, float((off @ off / (half - 2)) ** 0.5)]

    def table(value, *numbers):
        half = len(numbers) // 2
        return [float(interpolate.interp1d(numbers[:half], numbers[half:])(value))]

    def hysteresis(*numbers):
        # A quarter each: positions and readings up, then positions and readings on the way back.
        quarter = len(numbers) // 4
        up, read, back, read_back = (numpy.asarray(numbers[i * quarter:(i + 1) * quarter]) for i in range(4))
        at = interpolate.interp1d(back, read_back, bounds_error=False)(up)
        gaps = at - read
        gaps = gaps[~numpy.isnan(gaps)]
        return [float(numpy.abs(gaps).max())]

    def bridge(supply, r1, r2, r3, r4, detector):
        # r1 over r2 on the left, r3 over r4 on the right.
        matrix = [[1 / r1 + 1 / r2 + 1 / detector, -1 / detector], [-1 / detector, 1 / r3 + 1 / r4 + 1 / detector]]
        left, right = linalg.solve(matrix, [supply / r1, supply / r3])
        return [left, right]

    def loaded_divider(supply, upper, lower, load):
        # Unknown: tap volts and the three currents.
        matrix = [[1, upper, 0, 0], [1, 0, -lower, 0], [1, 0, 0, -load], [0, 1, -1, -1]]
        return [linalg.solve(matrix, [supply, 0, 0, 0])[0]]

    def steinhart_hart_resistance(celsius, a, b, c):
        def off(log):
            return a + b * log + c * log**3 - 1 / (celsius + 273.15)

        return [float(numpy.exp(optimize.brentq(off, -20, 40, xtol=1e-14, rtol=1e-14)))]

    def effective(duty, high, low):
        square = integrate.quad(lambda t: high**2 if t < duty else low**2, 0, 1, points=[duty])[0]
        mean = integrate.quad(lambda t: high if t < duty else low, 0, 1, points=[duty])[0]
        return [square**0.5, mean]

    return {"normal": normal, "rectangular_probability": rectangular, "fit": fit, "fit_trust": fit_trust,
            "table": table, "hysteresis": hysteresis, "bridge": bridge, "loaded_divider": loaded_divider,
            "steinhart_hart_resistance": steinhart_hart_resistance, "effective": effective}


def j1939_library():
    from j1939.diagnostic_messages import DTC

    def fault_code(word):
        code = DTC(dtc=int(word))
        return [code.spn, code.fmi, code.oc]

    def fault_code_word(spn, fmi, count):
        return [DTC(spn=int(spn), fmi=int(fmi), oc=int(count)).dtc]

    return {"fault_code": fault_code, "fault_code_word": fault_code_word}


GROUPS = [pint_circuits, uncertainties_library, gtc_library, thermocouples_libraries, rtd_library, thermistor_library,
          scipy_library, j1939_library]


def main():
    found = {}
    for line in sys.stdin:
        request = json.loads(line)
        try:
            # Libraries are slow to load: only those that are asked.
            for group in GROUPS:
                if request["ask"] in found:
                    break
                if request["library"] == group.__name__:
                    found.update(group())
            ask = found[request["ask"]]
            answer = {"answers": [[float(x) for x in ask(*row)] for row in request["rows"]]}
        except Exception as error:  # told to the test, which fails with it
            answer = {"error": f"{type(error).__name__}: {error}"}
        print(json.dumps(answer), flush=True)


if __name__ == "__main__":
    main()

// SPDX-License-Identifier: Apache-2.0
#include "units/detail/unit_names.hpp"

#include <algorithm>
#include <string>
#include <unordered_map>

#include "units/constants.hpp"
#include "units/detail/plain_text.hpp"

namespace hardpan::units::detail {
namespace {

using D = Dimension;
constexpr auto F = Flavour::force;
constexpr auto E = Flavour::energy;
constexpr auto P = Flavour::pressure;
constexpr auto O = Flavour::plain;
constexpr bool any = true;
constexpr bool exact = false;
constexpr double kFootPound = kFoot_m * kPoundForce_n;
constexpr double kInchPound = kInch_m * kPoundForce_n;

constexpr UnitName kNames[] = {
    // Ratios. Gravimetric and volumetric percentages keep their text in the heading.
    {"1", "-|dimensionless", exact, 1.0, 0, D::none, O, false},
    {"%", "percent|per cent|pct|prozent|procent|pour cent|% slip|%w/w|% w/w|%v/v|% v/v|wt%|wt.%|wt.-%|"
          "vol%|vol.%|vol.-%|% vol|gew.-%|m.-%|ma.-%|mass%|%vol|% by mass|% by volume", any, 0.01, 0, D::none, O, false},
    {"permille", "per mille|per mil|promille", any, 0.001, 0, D::none, O, false},
    // Length
    {"um", "micron|microns", exact, 1e-6, 0, D::length},
    {"mm", "millimetre|millimetres|millimeter|millimeters", any, 1e-3, 0, D::length},
    {"cm", "centimetre|centimetres|centimeter|centimeters", any, 1e-2, 0, D::length},
    {"dm", "", exact, 0.1, 0, D::length},
    {"m", "metre|metres|meter|meters", exact, 1.0, 0, D::length},
    {"km", "kilometre|kilometres|kilometer|kilometers", any, 1e3, 0, D::length},
    {"in", "inch|inches|ins|\"|''|zoll", any, kInch_m, 0, D::length},
    {"thou", "", any, kInch_m / 1000.0, 0, D::length},
    {"ft", "foot|feet|'", any, kFoot_m, 0, D::length},
    {"yd", "yard|yards|yds", any, kYard_m, 0, D::length},
    {"mi", "mile|miles", any, kMile_m, 0, D::length},
    {"nmi", "nautical mile|nautical miles", any, kNauticalMile_m, 0, D::length},
    // Mass
    {"mg", "", exact, 1e-6, 0, D::mass},
    {"g", "gram|grams|gramme|grammes|gm|grm", exact, 1e-3, 0, D::mass},
    {"kg", "kilogram|kilograms|kilo|kilos|kgs", any, 1.0, 0, D::mass},
    {"Mg", "", exact, 1e3, 0, D::mass},
    {"t", "tonne|tonnes|metric ton|metric tons|metric tonne|metric tonnes", exact, kTonne_kg, 0, D::mass},
    {"lb", "lbs|lbm|pound|pounds|pound-mass", any, kPound_kg, 0, D::mass},
    {"slug", "slugs", any, kPoundForce_n / kFoot_m, 0, D::mass},  // lbf s^2/ft, SP 811
    {"ozm", "oz av|oz avdp", any, kOunce_kg, 0, D::mass},
    // Time
    {"us", "", exact, 1e-6, 0, D::time},
    {"ms", "millisecond|milliseconds|msec|msecs", exact, 1e-3, 0, D::time},
    {"s", "sec|secs|second|seconds|Sec|SEC|Sek|sek|sekunden|Sekunden|sekunder", exact, 1.0, 0, D::time},
    {"min", "mins|minute|minutes|minuten|minuter", any, kMinute_s, 0, D::time},
    {"h", "hr|hrs|hour|hours|Hr|Hrs|HR|HRS", exact, kHour_s, 0, D::time},
    {"d", "day|days", exact, kDay_s, 0, D::time},
    // Force
    {"mN", "", exact, 1e-3, 0, D::force, F},
    {"N", "newton|newtons|Newton|Newtons", exact, 1.0, 0, D::force, F},
    {"daN", "dan", any, 10.0, 0, D::force, F},
    {"kN", "KN|Kn|kilonewton|kilonewtons", exact, 1e3, 0, D::force, F},
    {"MN", "", exact, 1e6, 0, D::force, F},
    {"gf", "gram-force|grams-force|pond", any, kKilogramForce_n / 1e3, 0, D::force, F},
    {"kgf", "kilogram-force|kilograms-force|kilogram force|kg-f|kg f|kg(f)|kilopond|kiloponds", any,
     kKilogramForce_n, 0, D::force, F},
    {"kp", "Kp", exact, kKilogramForce_n, 0, D::force, F},
    {"tf", "tonf metric|tonne-force|tonnes-force|t-f|metric ton-force", any, 1e3 * kKilogramForce_n, 0, D::force, F},
    {"lbf", "lbsf|lbf.|lb-f|lb f|lb(f)|lbs-f|lbs(f)|pound-force|pounds-force|pound force|pounds force", any,
     kPoundForce_n, 0, D::force, F},
    {"ozf", "oz-f|ounce-force|oz f", any, kPoundForce_n / 16.0, 0, D::force, F},
    {"kip", "kips|klbf", any, 1e3 * kPoundForce_n, 0, D::force, F},
    {"dyn", "dyne|dynes", exact, 1e-5, 0, D::force, F},
    // Pressure. Gauge pressure is what tyres and plates are measured in.
    {"Pa", "pascal|pascals", any, 1.0, 0, D::pressure, P},
    {"hPa", "", any, 1e2, 0, D::pressure, P},
    {"kPa", "kilopascal|kilopascals|kpag|kpa gauge", any, 1e3, 0, D::pressure, P},
    {"MPa", "Mpa|MPA|megapascal|megapascals", exact, 1e6, 0, D::pressure, P},
    {"GPa", "Gpa|GPA", exact, 1e9, 0, D::pressure, P},
    {"psi", "psig|psi g|psi gauge|lb/in2|lb/in^2|lb/sq in|lb/sq.in.|lb/sq. in.|lbs/in2|lbs/in^2|lbs/sq in|"
            "lbs/sq. in.|lb per sq in|lbs per sq in|pounds per square inch", any, kPsi_pa, 0, D::pressure, P},
    {"ksi", "", any, 1e3 * kPsi_pa, 0, D::pressure, P},
    {"psf", "lb/sq ft|lbs/sq ft|lb/ft2|lb/ft^2|lbs/ft2|lbs/ft^2", any, kPsf_pa, 0, D::pressure, P},
    {"ksf", "", any, 1e3 * kPsf_pa, 0, D::pressure, P},
    {"bar", "bars|barg|bar g|bar gauge", any, kBar_pa, 0, D::pressure, P},
    {"mbar", "millibar|millibars", any, kBar_pa / 1e3, 0, D::pressure, P},
    {"atm", "", any, kAtmosphere_pa, 0, D::pressure, P},
    // Angle
    {"rad", "radian|radians", exact, 1.0, 0, D::angle},
    {"mrad", "milliradian|milliradians", exact, 1e-3, 0, D::angle},
    {"deg", "degs|degree|degrees|arcdeg|angular degree|angular degrees", any, kDegree_rad, 0, D::angle},
    {"gon", "gons", any, kGon_rad, 0, D::angle},
    {"rev", "revs|revolution|revolutions|turn|turns|umdr|umdr.|umdrehung|umdrehungen|varv", any, kTurn_rad, 0, D::angle},
    {"% grade", "%grade|percent grade|pct grade|% gradient|percent gradient|% gradeability", any, 1.0, 0, D::angle, O,
     false, true},
    // Angular speed
    {"rpm", "r/min|rev/min|revs/min|u/min|umdr/min|umdr./min|1/min|/min|min-1|min^-1|min**-1|rev. per min|tr/min|"
            "turns/min|varv/min|r.p.m.|revolutions per minute", any, kTurn_rad / kMinute_s, 0, D::angular_speed, O, false},
    {"rev/s", "r/s|rps|tr/s", exact, kTurn_rad, 0, D::angular_speed, O, false},
    // Speed
    {"km/h", "kmh|kmph|kph|km/hr|km/hour|km/std|k.p.h.", any, 1e3 / kHour_s, 0, D::speed, O, false},
    {"m/s", "mps|m/sec|metres per second|meters per second", any, 1.0, 0, D::speed, O, false},
    {"mph", "mi/h|mi/hr|miles/h|miles/hr|miles/hour|miles per hour|m.p.h.", any, kMile_m / kHour_s, 0, D::speed, O, false},
    {"ft/s", "fps|ft/sec", any, kFoot_m, 0, D::speed, O, false},
    {"knot", "knots|kts", any, kNauticalMile_m / kHour_s, 0, D::speed},
    // Torque: pound and foot together can only be a torque, whichever comes first.
    {"N m", "Nm|NM|N.m|N-m|newton metre|newton metres|newton meter|newton meters|newton-metres|newton-meters", exact,
     1.0, 0, D::torque, F, true},
    {"N cm", "Ncm|N.cm|N-cm", exact, 1e-2, 0, D::torque, F, true},
    {"N mm", "Nmm|N.mm|N-mm", exact, 1e-3, 0, D::torque, F, true},
    {"kN m", "kNm|KNm|KNM|kN.m|kN-m", exact, 1e3, 0, D::torque, F, true},
    {"daN m", "daNm|daN.m", exact, 10.0, 0, D::torque, F, true},
    {"kgf m", "kgfm|kgf.m|kgf-m|kpm|mkgf|mkp", exact, kKilogramForce_n, 0, D::torque, F, true},
    {"lbf ft", "lbf-ft|lbfft|ft-lbf|ft.lbf|ft-lb|ft lb|ft.lb|ft-lbs|ft lbs|ftlb|ftlbs|ftlbf|ft-lb(f)|ft-lb-f|lb-ft|lb ft|"
               "lb.ft|lbs-ft|lbs ft|lbft|foot-pound|foot-pounds|foot pounds|foot-pound-force|pound-feet|pound feet|pound-foot",
     any, kFootPound, 0, D::torque, F, true},
    {"lbf in", "lbf-in|lbfin|in-lbf|in.lbf|in-lb|in lb|in.lb|in.-lb|in-lbs|in lbs|inlb|inlbs|inlbf|in-lb(f)|lb-in|lb in|lb.in|"
               "lbs-in|lbs in|inch-pound|inch-pounds|inch pounds|pound-inches|pound inches", any, kInchPound, 0, D::torque, F, true},
    // Power
    {"mW", "", exact, 1e-3, 0, D::power, E},
    {"W", "watt|watts|Watt", exact, 1.0, 0, D::power, E},
    {"kW", "KW|kw|kilowatt|kilowatts", exact, 1e3, 0, D::power, E},
    {"MW", "", exact, 1e6, 0, D::power, E},
    {"hp", "bhp|horsepower", any, kHorsepower_w, 0, D::power, E},
    {"PS", "metric hp|metric horsepower|hp metric", exact, kMetricHorsepower_w, 0, D::power, E},
    // Energy, charge, electricity
    {"J", "joule|joules|Joule", exact, 1.0, 0, D::energy, E},
    {"kJ", "KJ|kj", exact, 1e3, 0, D::energy, E},
    {"MJ", "", exact, 1e6, 0, D::energy, E},
    {"Wh", "WH|W-h|W.h|watt-hour|watt-hours|watt hours", exact, kHour_s, 0, D::energy, E},
    {"kWh", "kwh|KWH|KWh|Kwh|kWhr|kW-h|kW-hr|kilowatt-hour|kilowatt-hours|kilowatt hours", exact, 1e3 * kHour_s, 0, D::energy, E},
    {"Ah", "AH|ah|A-h|A.h|Amp-h|Ahr|amp-hr|amp-hour|amp-hours|amp hours|ampere-hours|ampere hours", exact, kHour_s, 0, D::charge},
    {"mAh", "mAH|mah|MAH", exact, 3.6, 0, D::charge},
    {"A", "amp|amps|Amp|Amps|AMPS|ampere|amperes", exact, 1.0, 0, D::current},
    {"mA", "", exact, 1e-3, 0, D::current},
    {"kA", "", exact, 1e3, 0, D::current},
    {"V", "volt|volts|Volt|Volts|VOLTS|VDC|Vdc|V DC|V dc", exact, 1.0, 0, D::voltage},
    {"mV", "millivolt|millivolts", exact, 1e-3, 0, D::voltage},
    {"kV", "", exact, 1e3, 0, D::voltage},
    {"uV", "", exact, 1e-6, 0, D::voltage},
    {"VA", "", exact, 1.0, 0, D::power, E, false},
    // Stiffness of springs and frames in the customary pound; lb/in can be nothing else.
    {"lbf/in", "lb/in|lbs/in|lb/inch|lbs/inch|lbs per inch|pounds per inch", any, kPoundForce_n / kInch_m, 0, D::stiffness, F, false},
    // Density, unit weight
    {"lb/ft^3", "pcf|lb/ft3|lb/cu ft|lbs/cu ft|lbs/ft3|lbs/ft^3|lb/cu. ft.", any, kPound_kg / (kFoot_m * kFoot_m * kFoot_m), 0,
     D::density, O, false},
    {"g/cm^3", "g/cc|g/cm3|gm/cc|gm/cm3|g/ccm", any, 1e3, 0, D::density, O, false},
    {"kg/m^3", "kg/m3|kg/cu m|kg/cbm", any, 1.0, 0, D::density, O, false},
    {"g/L", "g/l", exact, 1.0, 0, D::density, O, false},
    {"kN/m^3", "kN/m3|KN/M3|kN/cu m", exact, 1e3, 0, D::unit_weight, F, false},
    {"kN/m^2", "kN/m2|KN/M2", exact, 1e3, 0, D::pressure, P, false},
    {"N/mm^2", "N/mm2|N/MM2", exact, 1e6, 0, D::pressure, P, false},
    {"kgf/cm^2", "kgf/cm2|kp/cm2|kp/cm^2", any, kTechnicalAtmosphere_pa, 0, D::pressure, P, false},
    // Frequency, area, volume
    {"Hz", "hz|HZ|hertz|cps", exact, 1.0, 0, D::frequency},
    {"kHz", "khz|KHZ", exact, 1e3, 0, D::frequency},
    {"ha", "hectare|hectares", exact, 1e4, 0, D::area},
    {"cm^2", "qcm|sq cm", any, 1e-4, 0, D::area, O, false},
    {"L", "l|litre|litres|liter|liters|Liter", exact, kLitre_m3, 0, D::volume},
    {"mL", "ml|ML|cc|ccm|millilitre|millilitres|milliliter|milliliters", exact, 1e-3 * kLitre_m3, 0, D::volume},
    // Acceleration. A plain g is the gram.
    {"gn", "g0|g_n|g_0|gee|gees|standard gravity|earth g", exact, kStandardGravity_mps2, 0, D::acceleration},
    {"m/s^2", "m/s2|m/s/s|m/s**2|m/sec2|m/sec^2", any, 1.0, 0, D::acceleration, O, false},
    // Temperature
    {"K", "kelvin|Kelvin", exact, 1.0, 0, D::temperature},
    {"degC", "deg C|deg. C|celsius|degrees C|degrees celsius|degree C|grad C", any, 1.0, kCelsiusZero_k, D::temperature, O, false},
    {"degF", "deg F|deg. F|fahrenheit|degrees F|degrees fahrenheit|degree F", any, kFahrenheitStep_k, kFahrenheitZero_k,
     D::temperature, O, false},
    // Energy for distance
    {"Wh/km", "wh/km", exact, kHour_s / 1e3, 0, D::energy_per_distance, E, false},
    {"Wh/mi", "Wh/mile|wh/mi", exact, kHour_s / kMile_m, 0, D::energy_per_distance, E, false},
};

constexpr RefusedName kRefused[] = {
    {"oz|ozs|ounce|ounces", any, "may be a mass, a force or a volume", "write ozm for a mass, ozf for a force"},
    {"ton|tons|tn", any, "may be 907, 1000 or 1016 kg, or a force", "write t for 1000 kg, tf for its standard force, or give lb"},
    {"tonf|tons-force|ton-force", any, "is a different force in each country", "write tf (metric), kN or lbf"},
    {"kt", any, "may be knots or kilotonnes", "write knot"},
    {"kn", exact, "may be kilonewtons or knots", "write kN or knot"},
    {"nm", exact, "may be newton metres or nanometres", "write N m"},
    {"mpa|mPa", exact, "may be mega- or millipascal", "write MPa, kPa or Pa"},
    {"F", exact, "is the farad, degrees Fahrenheit or a symbol for force", "write degF, or the unit of the force (N, lbf)"},
    {"C", exact, "is the coulomb or degrees Celsius", "write degC for a temperature, A s for a charge"},
    {"T", exact, "is the tesla, not the tonne nor a torque", "write t, tf or N m"},
    {"G", exact, "is no unit of force, mass or acceleration", "write g for gram, g0 for standard gravity"},
    {"M|S|D|B|R|P|H|X|a|b|c|e|f|i|j|k|n|o|p|q|r|u|v|w|x|y|z|U|Y|Z|Q|I|E", exact, "is not a unit this program reads",
     "one-letter units are m, g, t, s, h, d, N, W, J, A, V, K, L; capitals count"},
    {"mil|mils", any, "may be a thousandth of an inch or an angle", "write thou or mrad"},
    {"grade|grad|grads", any, "may be a gon, a degree or percent of grade", "write deg, gon or % grade", true},
    {"% slope|%slope|percent slope|slope", any, "may be a ratio or an angle", "write % grade for 100 times rise over level distance", true},
    {"pt|pts|gal|gals|gallon|gallons|pint|pints|qt|cup", any, "differs between countries", "write L or cm^3", true},
    {"cal|cals|kcal", any, "may be a calorie or a calibration step", "write J, or apply the calibration first", true},
    {"#|#/in2|#/in^2|#/sq in|#/ft|lb#", exact, "uses # for pounds, of force or of mass", "write lbf, lb, psi or lbf/in"},
    {"kg/cm2|kg/cm^2|kg/mm2|kg/mm^2|kg/m2|kg/m^2|ksc", any, "divides a mass, not a force, by an area",
     "write kgf/cm^2 if standard kilogram-force was meant"},
    {"kgm|kg-m|kg m|kg.m|mkg", any, "multiplies a mass, not a force, by a length", "write kgf m, or N m"},
    {"psia|bara|bar a|psi a|kpaa", any, "is an absolute pressure", "subtract the air pressure and write psi, bar or kPa"},
    {"count|counts|cnt|cnts|tick|ticks|pulse|pulses|digit|digits|bit|bits|lsb|raw|adc|pix|pixel|pixels|px|steps|step", any,
     "is a raw reading, not a measure", "give the scale of the channel in the instrument's calibration", true},
    {"cycle|cycles|circle", any, "may be counts or turns", "write rev", true},
    {"ms-1|ms^-1", exact, "may be metres per second or per millisecond", "write m/s"},
    {"at", any, "is not a unit this program reads", "write kgf/cm^2, bar or kPa", true},
    {"CV|ch|cv|pk|hk", exact, "is a horsepower that differs between countries", "write kW, or PS for 75 kgf m/s"},
    {"gravity|gamma|water|rod|pole|perch|bag|cup|shake|point|are|rem|mole|nit|bev|nuc|tex|clo|chain|link|baud|byte|octet|grain",
     any, "is an ordinary word here, not a unit", "write the unit by its symbol", true},
    {"feet inches|ft in|ft-in", any, "is two units", "write one of them"},
};

struct Index {
  std::unordered_map<std::string, const UnitName*> exact_names, any_case_names;
  std::unordered_map<std::string, const RefusedName*> exact_refused, any_case_refused;
};

template <class Visit>
void for_each_name(std::string_view list, Visit visit) {
  while (!list.empty()) {
    const auto bar = list.find('|');
    visit(std::string(list.substr(0, bar)));
    if (bar == std::string_view::npos) return;
    list.remove_prefix(bar + 1);
  }
}

const Index& index() {
  static const Index built = [] {
    Index out;
    for (const UnitName& unit : kNames) {
      const auto add = [&](const std::string& name) {
        out.exact_names.emplace(name, &unit);
        if (unit.any_case && name.size() > 1) out.any_case_names.emplace(lower(name), &unit);
      };
      add(std::string(unit.spelling));
      for_each_name(unit.others, add);
    }
    for (const RefusedName& refused : kRefused) {
      for_each_name(refused.names, [&](const std::string& name) {
        out.exact_refused.emplace(name, &refused);
        if (refused.any_case) out.any_case_refused.emplace(lower(name), &refused);
      });
    }
    return out;
  }();
  return built;
}

template <class Map>
auto find(const Map& map, const std::string& key) -> typename Map::mapped_type {
  const auto found = map.find(key);
  return found == map.end() ? nullptr : found->second;
}

}  // namespace

std::span<const UnitName> unit_names() { return kNames; }

const UnitName* find_name(std::string_view text) {
  const std::string key(text);
  if (const UnitName* found = find(index().exact_names, key)) return found;
  if (find(index().exact_refused, key) != nullptr) return nullptr;
  return find(index().any_case_names, lower(text));
}

const RefusedName* find_refused(std::string_view text) {
  const std::string key(text);
  if (const RefusedName* found = find(index().exact_refused, key)) return found;
  if (find(index().exact_names, key) != nullptr) return nullptr;
  return find(index().any_case_refused, lower(text));
}

}  // namespace hardpan::units::detail

// SPDX-License-Identifier: Apache-2.0
#include "service/detail/data_dictionary.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <map>

#include "io/files.hpp"
#include "service/detail/dictionary_words.hpp"

namespace hardpan::service::detail {

namespace fs = std::filesystem;

namespace {

constexpr const char* kText = "text";
constexpr const char* kCount = "count";
constexpr const char* kShare = "-";
constexpr const char* kOfRow = "column `unit`";

// By heading; "table/heading" where a heading means something else there. An estimate is explained once, its four ends by rule.
const std::map<std::string, ColumnWords>& column_words() {
  static const std::map<std::string, ColumnWords> kWords{
      {"zone", {kText, "id of the zone of ground"}},
      {"vehicle", {kText, "id of the vehicle"}},
      {"tests", {kCount, "number of tests used"}},
      {"soil-parameters/tests", {kText, "kind of tests the parameter comes from"}},
      {"parameter", {kText, "short name of the parameter"}},
      {"meaning", {kText, "the parameter in words"}},
      {"unit", {kText, "unit of the values in this row"}},
      {"value", {kOfRow, "best estimate"}},
      {"average, soil scatter alone, low", {kOfRow, "lower end of the 95 % interval of the average ground without the instrument's part"}},
      {"average, soil scatter alone, high", {kOfRow, "upper end of the 95 % interval of the average ground without the instrument's part"}},
      {"instrument, one standard deviation", {kOfRow, "part of the uncertainty that all readings share through the instrument's calibration"}},
      {"points", {kCount, "independent points behind the value"}},
      {"status", {kText, "\"ok\", or what is missing and why"}},
      {"basis", {kText, "estimator, window and tests the value rests on"}},
      {"estimator", {kText, "way of fitting"}},
      {"relation", {kText, "relation fitted"}},
      {"n", {kShare, "exponent of the pressure-sinkage relation"}},
      {"unit of the first modulus", {kText, "unit of the next column; it follows from relation and n"}},
      {"first modulus", {"column before it", "kc of Bekker, the cohesive modulus of Reece, or the only modulus"}},
      {"unit of the second modulus", {kText, "unit of the next column; it follows from relation and n"}},
      {"second modulus", {"column before it", "kphi of Bekker or the frictional modulus of Reece"}},
      {"window from", {"m", "smallest sinkage in the fit"}},
      {"window to", {"m", "largest sinkage in the fit"}},
      {"readings", {kCount, "number of readings"}},
      {"misfit", {"Pa", "root mean square of measured less fitted"}},
      {"misfit of ln p", {kShare, "root mean square of measured less fitted in the logarithm of pressure"}},
      {"run", {kText, "name of the run"}},
      {"point", {kText, "id of the point"}},
      {"surface", {kText, "what was sheared against the soil: soil or smooth metal"}},
      {"normal stress", {"Pa", "mean normal stress on the sheared surface"}},
      {"strength", {"Pa", "shear stress that enters the strength line"}},
      {"shear displacement modulus", {"m", "K of the relation that fits better"}},
      {"flagged", {kText, "yes: left out of the strength line, or doubtful, for the reason beside"}},
      {"reason", {kText, "why it is flagged"}},
      {"test", {kText, "id of the test"}},
      {"class", {kText, "class of cones as written in the record"}},
      {"base area", {"m^2", "base area of the cone"}},
      {"from", {"m", "upper edge of the layer"}},
      {"to", {"m", "lower edge of the layer"}},
      {"pull-windows/from", {"s", "begin of the window on the clock of the log"}},
      {"pull-windows/to", {"s", "end of the window on the clock of the log"}},
      {"cone index", {"Pa", "mean resistance over base area in the layer"}},
      {"rating cone index", {"Pa", "cone index times the remoulding index, where that was measured"}},
      {"file", {kText, "file of the campaign"}},
      {"line", {kCount, "line of that file"}},
      {"first line", {kCount, "first line of that file"}},
      {"last line", {kCount, "last line of that file"}},
      {"width b", {"m", "width used in the pressure-sinkage relation"}},
      {"sinkage", {"m", "depth below the undisturbed surface"}},
      {"pressure", {"Pa", "load over area, after corrections"}},
      {"taken as", {kText, "what the reading or trial was taken for"}},
      {"weight in the fit", {kShare, "robust weight, 0 (left out) to 1"}},
      {"requirement", {kText, "id of the requirement"}},
      {"text", {kText, "the requirement as written"}},
      {"condition", {kText, "condition of the ground it holds for"}},
      {"quantity", {kText, "what is asked or compared"}},
      {"sense", {kText, "at least or at most"}},
      {"threshold", {kOfRow, "limit required"}},
      {"finding", {kText, "met, not met or not shown"}},
      {"margin", {kOfRow, "how far on the good side (positive) at the required probability"}},
      {"probability", {kShare, "share of next points, or of trials, that satisfy the requirement"}},
      {"confidence", {kShare, "confidence that this share is at least the required probability"}},
      {"required probability", {kShare, "share of next points asked for"}},
      {"required confidence", {kShare, "confidence asked for"}},
      {"population", {kText, "what the probability is over"}},
      {"limiting factor", {kText, "why the quantity is not larger"}},
      {"against what was tested", {kText, "whether the wheels ask of the soil what was tested"}},
      {"records", {kText, "records that carry the answer"}},
      {"reasons", {kText, "why this finding"}},
      {"what would change it", {kText, "tests or changes that would move the finding"}},
      {"soil", {kText, "heading of an answer on a textbook soil; empty on measured ground"}},
      {"limited by", {kText, "what limits the value"}},
      {"slip ratio", {kShare, "slip, driving positive, 0.2 is 20 %"}},
      {"pull coefficient", {kShare, "pull over weight on the level"}},
      {"pull-windows/pull coefficient", {kShare, "pull over normal load, corrected for line angle, slope and acceleration; towed and coasting: less the resistance"}},
      {"pull-slip-curves/pull coefficient", {kShare, "pull over normal load, corrected for line angle, slope and acceleration"}},
      {"torque per wheel", {"N m", "torque of the most loaded driven wheel"}},
      {"tractive efficiency", {kShare, "power of the pull over power of the wheels"}},
      {"gradient", {"deg", "slope in the direction of travel, nose up positive"}},
      {"share immobilised", {kShare, "share of next points at which the vehicle does not travel"}},
      {"measured", {kOfRow, "value read"}},
      {"measured standard error", {kOfRow, "standard error of that reading"}},
      {"predicted", {kOfRow, "value predicted on the best-estimate soil"}},
      {"next point low", {kOfRow, "lower end of the 95 % interval predicted for the next point met"}},
      {"next point high", {kOfRow, "upper end of the 95 % interval predicted for the next point met"}},
      {"inside", {kText, "yes: the reading lies in that interval"}},
      {"before", {kOfRow, "centre before vehicle tests taught"}},
      {"before low", {kOfRow, "lower end of the 95 % interval before"}},
      {"before high", {kOfRow, "upper end of the 95 % interval before"}},
      {"after", {kOfRow, "centre after vehicle tests taught"}},
      {"after low", {kOfRow, "lower end of the 95 % interval after"}},
      {"after high", {kOfRow, "upper end of the 95 % interval after"}},
      {"moved, in standard deviations before", {kShare, "after less before, over the standard deviation before"}},
      {"standard deviation after over before", {kShare, "how much the tests narrowed it"}},
      {"disagrees", {kText, "yes: moved further than its own spread before allows"}},
      {"at the edge", {kText, "yes: the tests push it to the end of what is possible"}},
      {"records that taught", {kText, "ids of the records that updated the soil"}},
      {"runs", {kCount, "independent runs"}},
      {"difference before", {kOfRow, "measured less predicted before the update, mean over runs"}},
      {"difference after", {kOfRow, "measured less predicted after the update, mean over runs"}},
      {"readings inside before", {kCount, "readings inside their 95 % interval before the update"}},
      {"readings inside after", {kCount, "readings inside their 95 % interval after the update"}},
      {"mean width before", {kOfRow, "mean width of those intervals before the update"}},
      {"mean width after", {kOfRow, "mean width of those intervals after the update"}},
      {"part", {kText, "part of the uncertainty that varies alone"}},
      {"best-estimate soil", {kOfRow, "value on the best-estimate soil"}},
      {"low", {kOfRow, "lower end of the 95 % interval at the next point with that part alone"}},
      {"high", {kOfRow, "upper end of the 95 % interval at the next point with that part alone"}},
      {"used low", {kOfRow, "least value under the wheels"}},
      {"used high", {kOfRow, "largest value under the wheels"}},
      {"tested low", {kOfRow, "least value tested"}},
      {"tested high", {kOfRow, "largest value tested"}},
      {"verdict", {kText, "inside what was tested, up to twice that, beyond, or not tested"}},
      {"what", {kText, "what the file is"}},
      {"remarks/what", {kText, "what is remarked on"}},
      {"size", {"byte", "size of the file"}},
      {"rows", {kCount, "rows of data"}},
      {"remarks/rows", {kCount, "rows concerned"}},
      {"rows excluded", {kCount, "rows set aside by remarks or amendments"}},
      {"SHA-256", {kText, "checksum of the file as it was read"}},
      {"where", {kText, "file, line and key"}},
      {"found", {kText, "value found"}},
      {"accepted", {kText, "what would be accepted"}},
      {"remedy", {kText, "what to do"}},
      {"weight", {"N", "weight of vehicle and payload on the level"}},
      {"rolling radius", {"m", "radius used for slip"}},
      {"record", {kText, "id of the record"}},
      {"lane", {kText, "lane driven"}},
      {"direction", {kText, "direction on the lane"}},
      {"by", {kText, "how the value was found"}},
      {"slip ratio standard error", {kShare, "standard error of the slip"}},
      {"slip status", {kText, "\"ok\", or why there is no slip"}},
      {"zero slip", {kText, "condition in which the rolling radius was measured"}},
      {"pull", {"N", "mean pull along the line, zeroed, positive when the vehicle pulls"}},
      {"pull standard error", {"N", "standard error of the mean, correlated readings counted for what they are worth"}},
      {"gradient from", {kText, "where the gradient comes from"}},
      {"normal load", {"N", "load across the slope, line pull counted"}},
      {"pull coefficient standard error", {kShare, "standard error of the pull coefficient"}},
      {"torque", {"N m", "mean axle torque as logged"}},
      {"power in", {"W", "mechanical or electrical power put in, as the efficiency says"}},
      {"efficiency", {kShare, "power of the pull over power put in"}},
      {"efficiency standard error", {kShare, "standard error of the efficiency"}},
      {"efficiency is", {kText, "tractive (axle torque) or overall (motor current)"}},
      {"samples", {kCount, "readings in the window"}},
      {"effective samples", {kCount, "independent readings they are worth"}},
      {"remarks", {kText, "what to know about this row"}},
      {"speed", {"m/s", "ground speed"}},
      {"coefficient", {kShare, "motion resistance over normal load"}},
      {"remark", {kText, "what to know about this row"}},
      {"way", {kText, "up or down the slope, or aside: across and oblique"}},
      {"slope-trials/heading", {"deg", "of travel, from straight uphill to the left; blank where none was told"}},
      {"slope-trials/drift", {"deg", "of the track beside the heading, as measured"}},
      {"start", {kText, "standing or rolling"}},
      {"angle", {"deg", "slope, mean over the places measured"}},
      {"angle spread, one standard deviation", {"deg", "spread of the slope over those places"}},
      {"places", {kCount, "places at which the slope was measured"}},
      {"outcome", {kText, "go, no-go, aborted or sled-limited"}},
      {"length climbed", {"m", "way climbed before the end"}},
      {"why", {kText, "why it stopped"}},
      {"wheel path", {kText, "wheel path measured"}},
      {"pass", {kCount, "number of the pass"}},
      {"depth under the wheel", {"m", "rut depth while the wheel stands in it"}},
      {"depth after the wheel", {"m", "rut depth after rebound"}},
      {"trace/time", {"s", "clock of the log"}},
      {"trace/pull raw", {"N", "pull as read"}},
      {"trace/pull zeroed", {"N", "less the zero stretch"}},
      {"trace/pull shifted", {"N", "moved by the lag between channels"}},
      {"trace/pull filtered", {"N", "after the filter"}},
      {"trace/wheel speed", {"rad/s", "mean of the wheels"}},
      {"trace/ground speed", {"m/s", "speed over ground"}},
      {"trace/slip ratio filtered", {kShare, "slip after the filter"}},
      {"obstacle-trials/outcome", {kText, "over, stopped, hung up, tipped or stopped by the driver"}},
      {"turn-trials/outcome", {kText, "turned, stalled, slid or stopped"}},
      {"remote-runs/outcome", {kText, "finished, left the corridor, struck something or stopped"}},
      {"remote-runs/speed", {"m/s", "mean speed over the course"}},
      {"trip-runs/outcome", {kText, "arrived, or what ended the run: ground, battery, hot drive, stopped"}},
      {"trip-runs/distance", {"m", "driven; the whole trip of a run that arrived without telling it"}},
      {"trip-runs/energy", {"J", "taken from the battery"}},
      {"trip-runs/time", {"s", "from start to end, halts included"}},
      {"trip", {kText, "name of the drive profile"}},
      {"rock-runs/outcome", {kText, "clear, wheel stopped, body touched or stopped"}},
      {"rock-runs/distance", {"m", "straight, up to the rock or to the end of the run"}},
      {"rocks", {kText, "name of the ground with rocks"}},
      {"rough-runs/outcome", {kText, "held, wheel lifted or stopped"}},
      {"rough-runs/speed", {"m/s", "held over the rough ground"}},
      {"ride", {kText, "name of the rough ground"}},
      {"peak acceleration", {"m/s^2", "largest vertical acceleration, gravity taken out"}},
      {"r.m.s. acceleration", {"m/s^2", "root mean square of the vertical acceleration, weighted as the question says"}},
      {"obstacle", {kText, "step up, step down, gap or profile"}},
      {"named", {kText, "id of the campaign's obstacle that was tried"}},
      {"obstacles/obstacle", {kText, "id of the obstacle"}},
      {"torque shared", {kText, "how the driven axles share the torque"}},
      {"goes over", {kText, "whether the whole crossing passes at the best estimate of the friction"}},
      {"obstacles/stopped by", {kText, "what stops it first"}},
      {"friction needed", {kShare, "least friction coefficient that holds every place of the way"}},
      {"friction there", {kShare, "friction coefficient of wheels on the obstacle, stated or of the ground"}},
      {"friction left over", {kShare, "friction there less what is needed"}},
      {"share of soils with friction enough", {kShare, "share of possible soils (next points)"}},
      {"hardest place", {"m", "travel at which the most friction is needed"}},
      {"largest axle torque", {"N m", "largest torque of an axle on the way"}},
      {"highest step", {"m", "highest step crossed at the best estimate of the friction"}},
      {"widest gap", {"m", "widest gap crossed at the best estimate of the friction"}},
      {"highest step at low friction", {"m", "the same at the lower end of the next point"}},
      {"widest gap at low friction", {"m", "the same at the lower end of the next point"}},
      {"approach", {kText, "slow, or rolling: met at speed"}},
      {"obstacle-trials/way", {kText, "forward or backward"}},
      {"obstacle-trials/size", {"m", "height of the step, or clear width of the gap"}},
      {"axle", {kText, "axle that stopped the vehicle"}},
      {"friction", {kShare, "friction coefficient of wheel on this obstacle, measured"}},
      {"side", {kText, "side turned to"}},
      {"turn-trials/wheel path", {kText, "what the radius is measured to"}},
      {"radius", {"m", "radius of the turn, along that path"}},
      {"radius is", {kText, "measured, or asked where none was measured"}},
      {"turn-trials/torque", {"N m", "sum over the driven wheels, braking ones negative, mean over the turn"}},
      {"power", {"W", "mean power over the turn"}},
      {"course", {kText, "name of the course"}},
      {"operator", {kText, "who drove"}},
      {"delay", {"s", "whole delay, from a thing in view to the command at the wheels"}},
      {"field of view", {"deg", "width of the view"}},
      {"image interval", {"s", "time between two images"}},
      {"practice", {kCount, "runs this operator had driven before"}},
      {"largest sideways error", {"m", "farthest from the line"}},
      {"corridor", {"m", "whole width of the corridor"}},
      {"stops", {kCount, "stops on the way"}},
      {"counts in the speeds", {kText, "whether the run enters the mean speeds"}},
      {"measured depth under the wheel", {"m", "rut depth measured with the wheel standing"}},
      {"measured depth after the wheel", {"m", "rut depth measured with the wheel gone"}},
      {"predicted depth under the wheel", {"m", "predicted depth of the deepest wheel below the untouched surface"}},
      {"predicted depth after the wheel", {"m", "predicted floor of the rut once the vehicle is gone"}},
      {"rut-passes/slip ratio", {kShare, "slip of the wheels predicted"}},
      {"paired-differences/condition", {kText, "what both vehicles were tested at"}},
      {"first", {kText, "id of the one vehicle"}},
      {"second", {kText, "id of the other vehicle"}},
      {"pairs", {kCount, "pairs of readings that follow each other"}},
      {"balanced", {kText, "whether as many pairs began with the one as with the other"}},
      {"first less second", {kOfRow, "difference of the two vehicles, a steady drift taken out; average ground: mean of pairs, next point: the next pair"}},
      {"drift", {kOfRow, "from the first reading of a pair to the second, whichever vehicle; empty where all pairs began alike"}},
      {"trace/torque", {"N m", "axle torque"}},
      {"trace/pitch", {"deg", "pitch, nose up positive"}},
      {"trace/mark", {kText, "what this stretch of the log was taken for"}}};
  return kWords;
}

constexpr TableWords kTables[]{
    {"cone-layers", "Cone index of each push by layer"},
    {"extrapolation-guard", "What the wheels ask of the soil against what was tested"},
    {"findings", "Findings against requirements, a row a requirement"},
    {"headline-predictions", "The main predicted values of each vehicle on each zone; \"immobilised\" and \"none\" where it does not travel"},
    {"held-out-before-after", "Runs that did not teach, against the prediction before and after the soil was updated by vehicle tests"},
    {"inputs", "Files read"},
    {"motion-resistance", "Motion resistance over normal load"},
    {"obstacles", "Obstacles of the campaign crossed slowly: friction there and needed, highest step, widest gap"},
    {"obstacle-trials", "Tries at obstacles, and what each was taken for"},
    {"paired-differences", "Two vehicles tested in turn: differences over pairs"},
    {"parts-of-uncertainty", "95 % intervals with one part of the uncertainty varying alone"},
    {"plate-fits", "Pressure-sinkage relations by every estimator"},
    {"plate-readings", "Plate readings after zero, contact and frame correction"},
    {"predicted-against-slip", "Predicted on the level against slip; \"immobilised\" where it does not travel"},
    {"predicted-measured", "Every reading of the vehicle tests against its prediction"},
    {"predicted-on-gradients", "Predicted slip on gradients without a hitch pull; \"immobilised\" where it does not travel"},
    {"pull-slip-curves", "Measured pull coefficient against slip"},
    {"pull-windows", "Steady windows of tow logs, bins of a sweep, and hand pulls"},
    {"remarks", "Remarks of reading and reduction"},
    {"remote-runs", "Runs by remote control"},
    {"rock-runs", "Runs among rocks"},
    {"rough-runs", "Runs over rough ground"},
    {"rut-passes", "Rut depth by pass, measured beside predicted"},
    {"ruts", "Rut depth by wheel path and pass"},
    {"shear-runs", "Shear runs one by one"},
    {"slope-trials", "Slope trials and what each was taken for"},
    {"soil-before-after", "Soil and model form before and after vehicle tests taught, average ground"},
    {"soil-parameters", "Soil parameters with intervals"},
    {"trip-runs", "Runs over drive profiles"},
    {"turn-trials", "Turns, and what each was taken for"}};

constexpr TableWords kResultKeys[]{
    {"schema", "name and version of this form"},
    {"version", "version of the program"},
    {"verb", "verb that was called"},
    {"status", "done, or refused"},
    {"problems", "refusals and remarks: severity, place, what, value, bound, remedy, count"},
    {"provenance", "begin, end, settings and instruction set of the run, and the key by which an unchanged run is known"},
    {"result/campaign", "name, place, day, gravity, records, vehicles and checksums of the files read"},
    {"result/missing", "what could not be computed, and why"},
    {"result/ground", "zones with their parameters and fits, drift through the day, agreement of drop cones"},
    {"result/drawbar", "pull against slip, motion resistance, slope limits, lanes and windows"},
    {"result/trials", "obstacles, turns and remote runs reduced, two vehicles in turn"},
    {"result/trials_compared", "obstacles, turns and ruts by pass against predictions"},
    {"result/predictions", "a vehicle on a zone: gradients, pull, sinkage, torque, energy, with limiting factors"},
    {"result/questions", "driving through a delay, rough ground, turning, rocks, drive profiles, another gravity, obstacles, vehicles against each other and studies, where the campaign asks for them; what limits the speed"},
    {"result/validation", "predictions against measurements, updates by vehicle tests, and what was tested against what is asked"},
    {"result/findings", "each requirement with value, margin, probability, confidence and reasons"},
    {"result/amendment_effects", "findings with and without amendments.csv"}};

// Cells of a heading line after RFC 4180.
std::vector<std::string> heading_cells(const std::string& line) {
  std::vector<std::string> cells(1);
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (c == '"' && quoted && i + 1 < line.size() && line[i + 1] == '"') {
      cells.back() += line[++i];
    } else if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      cells.emplace_back();
    } else if (c != '\r' && c != '\n') {
      cells.back() += c;
    }
  }
  return cells;
}

std::string dictionary_row(const std::string& table, const std::string& cell) {
  const std::size_t bracket = cell.ends_with("]") ? cell.rfind(" [") : std::string::npos;
  const std::string heading = cell.substr(0, bracket);
  std::string unit = bracket == std::string::npos ? "" : cell.substr(bracket + 2, cell.size() - bracket - 3), base = heading, end;
  for (const auto& [suffix, words] : {std::pair{", average ground low", "lower end of the 95 % interval of the average ground: "}, {", average ground high", "upper end of the 95 % interval of the average ground: "},
                                      {", next point low", "lower end of the 95 % interval of the next point met: "}, {", next point high", "upper end of the 95 % interval of the next point met: "}}) {
    if (!heading.ends_with(suffix)) continue;
    base = heading.substr(0, heading.size() - std::string(suffix).size());
    end = words;
  }
  const auto& words = column_words();
  const auto& answers = question_columns();
  std::string meaning = "not described";
  for (const auto& [key, among] : {std::pair{table + "/" + base, &answers}, {table + "/" + base, &words}, {base, &answers}, {base, &words}}) {
    const auto found = among->find(key);
    if (found == among->end()) continue;
    meaning = end + found->second.meaning;
    if (unit.empty()) unit = found->second.unit;
    break;
  }
  return "| " + heading + " | " + unit + " | " + meaning + " |\n";
}

}  // namespace

std::string dictionary_of_tables(const std::string& folder, const std::vector<std::string>& files, base::Problems& problems) {
  std::string out;
  for (const std::string& f : files) {
    const bool trace = f.starts_with("out/trace/");
    if (!f.ends_with(".csv") || (!trace && !f.starts_with("out/tables/"))) continue;
    const auto bytes = io::read_file(folder + "/" + f, problems);
    if (!bytes) continue;
    const std::string name = fs::path(f).stem().string();
    out += "### `" + f + "`\n\n";
    for (const TableWords& t : kTables) {
      if (name == t.name && !trace) out += std::string(t.meaning) + ".\n\n";
    }
    for (const TableWords& t : question_table_words()) {
      if (name == t.name && !trace) out += std::string(t.meaning) + ".\n\n";
    }
    if (trace) out += "Every step of the reduction of one tow log, a row a reading.\n\n";
    out += "| column | unit | meaning |\n|---|---|---|\n";
    for (const std::string& cell : heading_cells(bytes->substr(0, bytes->find('\n')))) out += dictionary_row(trace ? "trace" : name, cell);
    out += "\n";
  }
  if (!out.empty()) out = "## Columns of the tables\n\nA cell is empty where there is nothing to say. `-` is a number without unit.\n\n" + out;
  if (std::find(files.begin(), files.end(), "out/results.json") != files.end()) {
    out += "## Keys of `out/results.json`\n\n| key | meaning |\n|---|---|\n";
    for (const TableWords& key : kResultKeys) out += std::string("| `") + key.name + "` | " + key.meaning + " |\n";
  }
  return out;
}

}  // namespace hardpan::service::detail

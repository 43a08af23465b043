// SPDX-License-Identifier: Apache-2.0
#include "service/detail/dictionary_words.hpp"

namespace hardpan::service::detail {

const std::map<std::string, ColumnWords>& question_columns() {
  static const std::map<std::string, ColumnWords> kWords{
      {"rough-ground/zones", {"text", "zones that are so rough"}},
      {"rough-ground/ground", {"text", "wave, class of roughness or surveyed profile"}},
      {"rough-ground/wave length", {"m", "from crest to crest"}},
      {"rough-ground/amplitude", {"m", "half of trough to crest"}},
      {"rough-ground/bound", {"text", "what is passed"}},
      {"rough-ground/speed", {"m/s", "smallest speed at which it is; empty where none is"}},
      {"rough-ground/axle from the rear", {"count", "axle whose wheels leave the ground first"}},
      {"speed-limits/limit", {"text", "what holds the speed down"}},
      {"speed-limits/speed", {"m/s", "speed it allows; empty where it is no limit or is not known"}},
      {"speed-limits/smallest", {"text", "whether it is the limit of the pair, at the lower ends where there are such"}},
      {"speed-limits/detail", {"text", "what of it, or why there is no number"}},
      {"remote-speeds/braking", {"text", "braking on the best-estimate soil or at the lower end of the next point"}},
      {"remote-speeds/speed", {"m/s", "speed that may be driven"}},
      {"remote-speeds/limited by", {"text", "what decides it"}},
      {"speed that stops within sight", {"m/s", "largest speed that stops before what is seen in time"}},
      {"speed that holds the corridor", {"m/s", "largest speed at which the driver stays in the corridor"}},
      {"mean speed of driving and waiting", {"m/s", "mean of driving a stretch, stopping and waiting"}},
      {"turning/heading", {"deg", "of travel from straight uphill, to the left"}},
      {"turning/gradient", {"deg", "slope of the ground"}},
      {"turning/radius", {"m", "of the middle of the vehicle; 0 on the spot"}},
      {"largest torque", {"N m", "largest torque of a wheel"}},
      {"work over distance", {"J/m", "work of all wheels over the length of the path, braking ones negative"}},
      {"share that goes", {"-", "share of possible soils on which steering, torque and power do"}},
      {"turning/stopped by", {"text", "what ends the turn on the best-estimate soil, or goes"}},
      {"rocks/field", {"text", "name of the boulder field"}},
      {"rocks from", {"text", "law, table or map the rocks are from"}},
      {"highest step", {"m", "highest that wheels climb"}},
      {"clearance", {"m", "height of the body over the ground; empty where it is not stated"}},
      {"hits", {"1/m", "rocks that stop the vehicle over a metre of straight travel"}},
      {"hits, low", {"1/m", "lower end of the 95 % interval, counted rocks alone; of maps"}},
      {"hits, high", {"1/m", "upper end of it"}},
      {"run length", {"m", "length of the straight run asked for"}},
      {"chance of a clear run", {"-", "chance that no rock stops a run of that length"}},
      {"length every second run gets", {"m", "length that is clear with a chance of one half"}},
      {"endurance/way", {"text", "name of the drive profile"}},
      {"stretch", {"text", "stretch of it, in the order driven"}},
      {"endurance/distance", {"m", "length of the stretch"}},
      {"endurance/gradient", {"deg", "nose up positive"}},
      {"endurance/speed", {"m/s", "speed driven on the best-estimate soil"}},
      {"endurance/energy", {"J", "taken from the battery in the stretch and the halt after it; negative: given back"}},
      {"endurance/time", {"s", "driving and the halt after it"}},
      {"charge after", {"-", "charge left at its end over the usable energy"}},
      {"drive heat", {"-", "hottest drive at the end of the drive; 1 is hot"}},
      {"possible soils stopped here", {"count", "possible soils on which the way ends in this stretch"}},
      {"other-gravity/slip ratio", {"-", "slip of the wheels"}},
      {"gradient as tested", {"deg", "gradient climbed at this slip, the vehicle of the file where it was tested"}},
      {"gradient equal-weight test", {"deg", "the same of a test vehicle that weighs here what the target weighs there"}},
      {"gradient target", {"deg", "the same of the target with its true mass on its own ground"}},
      {"first vehicle", {"column `unit`", "value of the first vehicle"}},
      {"second vehicle", {"column `unit`", "value of the second vehicle"}},
      {"vehicles-compared/first less second", {"column `unit`", "difference soil by soil"}},
      {"share on which the first is better", {"-", "share of next points; ties count half"}},
      {"study", {"count", "number of the study in campaign.toml"}},
      {"first parameter", {"text", "what is varied"}},
      {"unit of the first", {"text", "unit of the next column"}},
      {"first value", {"column before it", "value of the first parameter"}},
      {"second parameter", {"text", "what is varied besides; empty for one parameter"}},
      {"unit of the second", {"text", "unit of the next column"}},
      {"second value", {"column before it", "value of the second parameter"}},
      {"studies/variant", {"text", "the vehicle as it is, or varied"}},
      {"studies/needed", {"column `unit`", "what the quantity has to reach; empty where nothing is stated"}},
      {"studies/margin", {"column `unit`", "value over what is needed, or under it where less is better; the ride margin itself"}},
      {"studies/margin, next point low", {"column `unit`", "the same at the unfavourable end of the next point"}},
      {"studies/limited by", {"text", "limiting factor on the best-estimate soil"}}};
  return kWords;
}

const std::vector<TableWords>& question_table_words() {
  static const std::vector<TableWords> kWords{
      {"endurance", "Drive profiles stretch by stretch"},
      {"other-gravity", "Gradient climbed as tested, in an equal-weight test, and at the target of another gravity"},
      {"remote-speeds", "Speed through a delay against the delay"},
      {"rocks", "Rocks in the way of straight runs"},
      {"rough-ground", "Speeds at which rough ground passes a bound"},
      {"speed-limits", "What limits the speed of each vehicle on each zone"},
      {"studies", "Parameters of a vehicle varied over the same possible soils"},
      {"turning", "Torque and work against radius on the ground of each zone"},
      {"vehicles-compared", "Two vehicles over the same possible soils"}};
  return kWords;
}

}  // namespace hardpan::service::detail

// SPDX-License-Identifier: Apache-2.0
// Blank field sheets: one a kind of test, a page each on A4 and Letter, and the same headings as empty CSV files
// that the reader takes as they are.
#include <fmt/core.h>

#include <string>
#include <vector>

#include "io/atomic_files.hpp"
#include "service/new_campaign.hpp"

namespace hardpan::service {
namespace {

struct SheetForm {
  const char* kind;
  const char* title;
  std::vector<const char*> once;          // noted once on top, a line to write on each
  const char* caution;                    // what can hurt someone in this test; may be empty
  std::vector<const char*> headings;      // of the rows; the reader knows them
  int rows;
  bool landscape = false;
};

const std::vector<SheetForm>& forms() {
  static const char* kInstrument = "Instrument, last check";
  static const std::vector<SheetForm> all{
      {"plate", "Plate sinkage", {"Zone", "Time", "Operator", kInstrument, "Zero of load and depth", "Tilt", "Weather, surface"},
       "Keep hands and feet clear of plate and frame; two people lift heavy parts.",
       {"Test", "Point", "Plate", "Load (N)", "Sinkage (mm)", "Remark"}, 22},
      {"shear-ring", "Shear ring", {"Zone", "Time", "Operator", kInstrument, "Ring, inner and outer radius", "Own weight counted in the load?", "Zero of torque"},
       "", {"Test", "Point", "Vertical load (N)", "Rotation (deg)", "Torque (N m)", "Remark"}, 22},
      {"shear-plate", "Shear plate or box", {"Zone", "Time", "Operator", kInstrument, "Length x width", "Own weight counted in the load?", "Zero of force"},
       "", {"Test", "Point", "Vertical load (N)", "Displacement (mm)", "Shear force (N)", "Remark"}, 22},
      {"cone", "Cone penetrometer", {"Zone", "Time", "Operator", kInstrument, "Cone, base area and angle", "Rate, about 30 mm/s", "Stops and stones"},
       "Have buried services located before any rod goes into the ground.", {"Test", "Point", "Depth (mm)", "Force (N)", "Remark"}, 22},
      {"repose", "Angle of repose", {"Zone", "Time", "Operator", kInstrument},
       "Poured pile, slip face and start of a slide are three different angles: write which. Nobody below a face that may slide.",
       {"Kind", "Height (mm)", "Diameter (mm)", "Angle (deg)", "Point", "Remark"}, 20},
      {"density", "Bulk density", {"Zone", "Time", "Operator", "Scale, last check", "Ring or can, volume", "Error of the volume"}, "",
       {"Point", "Mass (g)", "Volume (cm3)", "Sample depth (mm)", "Remark"}, 20},
      {"moisture", "Moisture", {"Zone", "Time", "Operator", "Scale, last check", "Oven, temperature", "Hours"}, "",
       {"Point", "Wet (g)", "Dry (g)", "Tare (g)", "Sample depth (mm)", "Remark"}, 20},
      {"tow", "Hand tow sheet, one row a pull",
       {"Vehicle", "Weight as tested", "Zone, lane", "Time", "Operator", "Load cell or balance, last check", "Rolling radius", "found towed / self-propelled, on", "Hitch height", "Line angle"},
       "Rated line and hitch, attached low, line damper, exclusion zone, nobody in the bight; chocks before unhitching.",
       {"Run", "Point", "Direction", "Turns", "Distance (m)", "Pull (N)", "Gradient (deg)", "Sinkage (mm)", "Remark"}, 20},
      {"slope-trial", "Slope trials", {"Vehicle", "Weight as tested", "Zone", "Time", "Operator", "Inclinometer, last check", "Spotter", "Stop control held by"},
       "Lower angles first, from the bottom, unmanned or tethered; nobody on the fall line; never turn across the slope near the tip limit.",
       {"Run", "Gradient 1 (deg)", "Gradient 2 (deg)", "Gradient 3 (deg)", "Start", "Travel", "Heading (deg)", "Drift (deg)", "Outcome", "Length (m)", "Slip (%)", "Sinkage (mm)", "Why stopped", "Assisted"}, 14, true},
      {"rut", "Rut depth", {"Vehicle", "Weight as tested", "Zone, lane", "Time", "Operator", "Tape or gauge"}, "",
       {"Run", "Point", "Wheel path", "Pass", "Depth loaded (mm)", "Depth after (mm)", "Slip (%)", "Remark"}, 20},
      {"obstacle-trial", "Obstacle trials, one row a try", {"Vehicle", "Weight as tested", "Zone", "Time", "Operator", "Obstacle, material and edge", "Friction of wheel on it, how measured", "Spotter", "Stop control held by"},
       "Lowest step and narrowest gap first, unmanned or remotely driven; nobody beside, below or behind the vehicle; ground falling away behind it secured.",
       {"Try", "Point", "Obstacle", "Size (mm)", "Approach", "Travel", "Outcome", "Axle", "Friction", "Assisted", "Remark"}, 14, true},
      {"turn-trial", "Turn trials, one row a turn", {"Vehicle", "Weight as tested", "Zone", "Time", "Operator", "Measured to: outer wheel, inner wheel, centre", "Tape", "Torque or power from", "Stop control held by"},
       "Wide turns first; nobody inside the ring or near it; never turn across a slope near the tip-over limit.",
       {"Run", "Point", "Side", "Radius asked (m)", "Radius (m)", "Wheel path", "Speed (m/s)", "Torque (N m)", "Power (W)", "Gradient (deg)", "Outcome", "Remark"}, 14, true},
      {"remote-run", "Remote runs, one row a run", {"Vehicle", "Zone", "Course, length", "Time", "Link and camera", "How the delay was measured", "Spotter", "Stop control held by"},
       "Somebody with a stop control sees the vehicle; nobody on the course; mix the order of delays and views, so that practice is told apart from them.",
       {"Run", "Point", "Operator", "Practice", "Delay (s)", "Field of view (deg)", "Image interval (s)", "Speed (m/s)", "Largest error (m)", "Corridor (m)", "Stops", "Outcome", "Remark"}, 14, true},
      {"trip-run", "Runs over a drive profile, one row a run", {"Vehicle", "Weight as tested", "Trip, as the campaign names it", "Time", "Operator", "Energy read from", "Battery, state and temperature", "Watch", "Stop control held by"},
       "Reserve and a way back agreed beforehand; somebody knows the way and the hour of return; stop where a drive smells or grows hot.",
       {"Run", "Point", "Outcome", "Distance (m)", "Energy (Wh)", "Time taken (min)", "Remark"}, 16, true},
      {"rock-run", "Runs among rocks, one row a run", {"Vehicle", "Weight as tested", "Rocks, as the campaign names them", "Time", "Operator", "Tape or wheel turns", "Spotter", "Stop control held by"},
       "Slowly, unmanned or remotely driven; nobody in front of or below the vehicle; recover it with a line, not by hand.",
       {"Run", "Point", "Outcome", "Distance (m)", "Remark"}, 20},
      {"rough-run", "Runs over rough ground, one row a run", {"Vehicle", "Weight as tested", "Rough ground, as the campaign names it", "Time", "Operator", "Accelerometer, where and filter", "Who watches the wheels", "Stop control held by"},
       "Slow runs first, faster by small steps; nobody aboard unless strapped in and willing, nobody beside the course; stop at the first wheel in the air.",
       {"Run", "Point", "Speed (m/s)", "Outcome", "Peak (m/s2)", "RMS (m/s2)", "Remark"}, 18, true},
      {"spin", "Jacked-up spin test", {"Vehicle", "Wheel", "Time", "Operator", "Brake or dynamometer", "Battery, state and temperature"},
       "Wheel clear of the ground, body on stands, other wheels chocked, nobody beside the wheel.",
       {"Current (A)", "Torque (N m)", "Speed (rpm)"}, 18},
  };
  return all;
}

constexpr const char* kStyle =
    "@page{margin:14mm}@page across{size:landscape;margin:12mm}body{margin:0;font:11pt/1.25 sans-serif;color:#000;background:#fff}"
    "section{break-after:page}section:last-child{break-after:auto}.across{page:across}"
    "h1{font-size:15pt;margin:0 0 2mm}p{margin:2mm 0 0;font-size:9.5pt}"
    ".head{display:grid;grid-template-columns:1fr 1fr;column-gap:8mm}.across .head{grid-template-columns:1fr 1fr 1fr}"
    ".head div{display:flex;gap:2mm;height:7mm;align-items:flex-end;font-size:9.5pt;white-space:nowrap}.head div::after{content:'';flex:1;border-bottom:.2mm solid #333}"
    "table{border-collapse:collapse;width:100%;margin-top:4mm}th,td{border:.3mm solid #333;padding:1mm;text-align:left;font-size:9.5pt;vertical-align:bottom}"
    "td{height:5.4mm}.across td{height:5mm}section:not(.across) th:last-child{width:24%}";

}  // namespace

std::string caution_of_sheet(const std::string& kind) {
  for (const SheetForm& f : forms()) {
    if (kind == f.kind) return f.caution;
  }
  return "";
}

std::vector<std::string> blank_sheets(const std::string& folder) {
  make_folder(folder);
  std::vector<std::string> written;
  std::string html = fmt::format("<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\"><title>Field sheets</title><style>{}</style></head><body>", kStyle);
  for (const SheetForm& f : forms()) {
    std::string csv;
    html += fmt::format("<section{}><h1>{}</h1><div class=\"head\">", f.landscape ? " class=\"across\"" : "", f.title);
    for (const char* h : {"Campaign", "Date", "Sheet ___ of ___", "Initials"}) html += fmt::format("<div>{}</div>", h);
    for (const char* h : f.once) html += fmt::format("<div>{}</div>", h);
    html += "</div>";
    if (*f.caution) html += fmt::format("<p>{}</p>", f.caution);
    html += "<table><thead><tr>";
    for (const char* h : f.headings) {
      html += fmt::format("<th>{}</th>", h);
      csv += (csv.empty() ? "" : ";") + std::string(h);
    }
    html += "</tr></thead><tbody>";
    for (int r = 0; r < f.rows; ++r) {
      html += "<tr>";
      for (std::size_t c = 0; c < f.headings.size(); ++c) html += "<td></td>";
      html += "</tr>";
    }
    html += "</tbody></table><p>Read aloud, write, read back. A wrong entry is struck through once, never erased; the new value and initials stand beside it.</p></section>";
    io::write_file(folder + "/" + f.kind + ".csv", csv + "\n");
    written.push_back(std::string(f.kind) + ".csv");
  }
  html += "</body></html>\n";
  io::write_file(folder + "/field-sheets.html", html);
  written.push_back("field-sheets.html");
  return written;
}

}  // namespace hardpan::service

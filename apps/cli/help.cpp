// SPDX-License-Identifier: Apache-2.0
#include "help.hpp"

#include <algorithm>
#include <map>
#include <sstream>
#include <vector>

namespace hardpan::cli {

// Help of each verb: the first line stands in the list of verbs, all of it in 'hardpan VERB --help'.
const char* help_of(const std::string& verb) {
  static const std::map<std::string, const char*> kHelp{
      {"new",
        "Lays out a campaign folder from a few answers; --sheets writes blank field sheets instead.\n"
        "Start here when a job comes in. Asks for what is not given if somebody sits at the terminal.\n"
        "Writes campaign.toml, requirements.toml, instruments.toml, amendments.csv and an example vehicle, to be filled in, into\n"
        "DIR, which must be new or empty. With --sheets it adds DIR/sheets: one printable page a kind of test, and empty CSV files with\n"
        "the headings that 'check' knows.\n"
        "Gravity takes a unit (m/s^2, ft/s^2) and has no default. Exit code 2: refused, nothing is written; 4: the folder cannot be written.\n"
        "Example: hardpan new spit --name 'Spit, spring' --gravity '9.81 m/s^2' --zone foredune --zone marsh\n"
        "Example: hardpan new spit --sheets"},
      {"plan",
        "The test matrix that the requirements need, by zone and condition.\n"
        "Use it before going out: from a guess of the soil it computes pressures, sinkages and shear travels under the wheels and\n"
        "lists the plates, loads and normal stresses that bracket them, points, repeats, tow runs and slope trials, with the reason\n"
        "of each, and the cells that will read \"not tested\". For steps, gaps and turns it counts the tries made and those still to do.\n"
        "Reads the campaign (requirements, zones, vehicles) and the soils guessed; writes nothing.\n"
        "Loads, lengths and stresses come out in the units of the campaign (output_units). Exit code 2: the campaign or a guess is refused.\n"
        "Example: hardpan plan spit --soil lete_sand --soil marsh=soils/silt.toml"},
      {"check",
        "Reads everything and reports every refusal and remark at once.\n"
        "Use it in the field after each sheet, while a test can still be repeated, and before any other step. A refusal stops the\n"
        "later steps: file, line, key, the value found, what is accepted, what to do. A remark sets rows aside or asks a question.\n"
        "Reads campaign.toml, requirements.toml, instruments.toml, vehicles/, soils/, records/ and amendments.csv; writes nothing.\n"
        "Prints tests and rows of each record and the axle loads of each vehicle.\n"
        "Exit code 0: nothing is refused, remarks or not; 2: something is refused.\n"
        "Example: hardpan check spit\n"
        "Example: hardpan check spit --record records/plates.csv"},
      {"ground",
        "Reduces plate, shear, cone, repose, density and moisture records to soils with intervals.\n"
        "Use it once sheets of a zone pass 'check', to see whether the points suffice: it ends with advice how many more would\n"
        "narrow which interval.\n"
        "Reads the campaign; writes nothing ('run' puts the same numbers into the report). For each zone: moduli, exponent,\n"
        "cohesion, friction, cone index, each with the 95 % interval of the average ground and of the next point, and what it rests on.\n"
        "Pressures come out in kPa or psi, lengths in mm or in, angles in deg (output_units of the campaign); --json is SI.\n"
        "--estimator shows what another way of fitting gives: log-log is a spreadsheet's trend line, two-step the handbook way.\n"
        "Exit code 2: refused by 'check'. A parameter that the tests do not determine is named, not refused.\n"
        "Example: hardpan ground spit --estimator log-log"},
      {"drawbar",
        "Reduces tow logs, hand tow sheets, slope trials, rut sheets, and trials of obstacles, turns and remote driving to measured behaviour.\n"
        "Use it after towing or climbing, to see pull against slip, motion resistance, gradients bracketed by go and no-go, ruts by pass,\n"
        "steps and radii bracketed, speed against delay, and two vehicles tested in turn, before any model is asked.\n"
        "Reads the campaign; writes nothing. --trace keeps each step of the reduction of a log, but only 'run' writes it (out/trace).\n"
        "Slips come out in %, pull over weight as a coefficient without unit, angles in deg; --json is SI, with angles in rad.\n"
        "Exit code 2: refused by 'check'. A log without ground speed is no error: it gives no slip, and the text says so.\n"
        "Example: hardpan drawbar spit\n"
        "Example: hardpan drawbar spit --json"},
      {"predict",
        "Predicts pull, sinkage, gradients and energy over possible soils, with limiting factors.\n"
        "Use it to learn what the measured ground lets each vehicle do, before or without tests of the vehicle itself.\n"
        "Reads the campaign and repeats 'ground' and 'drawbar' on the way; writes nothing. Computes each vehicle on each zone that\n"
        "a requirement or a vehicle test names, over the soils that the tests leave possible (draws in campaign.toml).\n"
        "Gradients come out in deg, energy over distance in Wh/km or Wh/mi, pull over weight without unit, each with the 95 %\n"
        "interval of the average ground and of the next point. --threads and --simd change the time, never the numbers.\n"
        "Exit code 2: refused by 'check'; 130: stopped by you. A zone without a soil is named and left out.\n"
        "Example: hardpan predict spit --threads 2"},
      {"validate",
        "Sets predictions against measurements and judges every requirement.\n"
        "Use it when ground and vehicle tests are in, for the answer on the terminal; 'run' gives the same answer as a report.\n"
        "Reads the campaign and repeats all steps before it; writes nothing. Prints bias and discrepancies by vehicle and zone, then a\n"
        "line a requirement: met, not met or not shown, value with its 95 % interval, margin, probability, confidence, what limits.\n"
        "Values come out in the units of the campaign (output_units), shares in %.\n"
        "Exit code 0 whatever the findings: \"not met\" is an answer. 2: refused by 'check'; 130: stopped by you.\n"
        "Example: hardpan validate spit\n"
        "Example: hardpan validate spit --json"},
      {"report",
        "Writes out/report.html, tables and figures; the same as run.\n"
        "Use it when only the report is wanted and the word fits better: nothing is computed again while nothing has changed.\n"
        "Reads the campaign; writes DIR/out and enters the run into DIR/ledger.sqlite, and prints the findings and the path of the report.\n"
        "The report opens without a network and prints on A4 and Letter; its units are those of output_units in campaign.toml.\n"
        "Exit code 0: it is written, whatever it finds; 2: refused, out/ stays as it was; 4: disk full, read-only, or another run\n"
        "holds the folder; 130: stopped by you.\n"
        "Example: hardpan report spit"},
      {"run",
        "The whole job: check, ground, drawbar, predict, validate, report.\n"
        "Use it for every answer that is handed over. Nothing is computed again while no input, setting or version has changed.\n"
        "Reads the campaign; writes DIR/out (report.html, results.json, tables/ as CSV and XLSX, figures/ as SVG, trace/ with --trace)\n"
        "and enters the run into DIR/ledger.sqlite. out/ is replaced whole or not at all, so a stopped run leaves the old one.\n"
        "Tables and results.json are SI, angles of tables in deg; the report speaks the units of the campaign (output_units).\n"
        "Exit code 0: the report is written, whatever it finds; 2: refused, out/ stays as it was; 4: disk full, read-only, or another\n"
        "run holds the folder; 130: stopped by you.\n"
        "Example: hardpan run spit\n"
        "Example: hardpan run spit --trace --quiet"},
      {"changes",
        "Says what differs between the last two runs: inputs, settings, parameters, findings.\n"
        "Use it after an edit, to see which answers it moved and which it left alone, and before handing over a second issue.\n"
        "Reads DIR/ledger.sqlite, which keeps the whole results of the last twenty runs; writes nothing and computes nothing.\n"
        "One line a difference, \"before -> after\": files edited, masses of vehicles, soil parameters, predictions, and of each\n"
        "requirement threshold, value, margin, probability and finding, in the units of the campaign.\n"
        "Exit code 0 with or without differences, and with fewer than two runs; 2: there is no such folder.\n"
        "Example: hardpan changes spit"},
      {"pack",
        "Seals records, settings, results and report with checksums and a data dictionary into one zip file.\n"
        "Use it to hand a campaign over or to keep it: whoever opens it can check each file with 'sha256sum -c SHA256SUMS' and\n"
        "finds each column of each table with unit and meaning in DATA_DICTIONARY.md.\n"
        "Reads every file under DIR and compares the inputs with those that the report was computed from; writes the zip only.\n"
        "A report that no longer belongs to its inputs is not sealed: run again, or give --as-it-is, which marks it as out of date.\n"
        "Exit code 2: out of date, or nothing to pack, and no zip is written; 4: the zip cannot be written.\n"
        "Example: hardpan pack spit\n"
        "Example: hardpan pack spit --to handover/spit-2026-05.zip"},
      {"weights",
        "Where batteries and payload should sit: even wheel loads, steepest climb, and the trade.\n"
        "Use it before loading up, when a vehicle stands uneven or lacks a degree of slope.\n"
        "Reads a vehicle file whose payload has allowed places (allowed_ahead, allowed_left, allowed_height) and, for the climb, one soil;\n"
        "writes nothing. Places in m, wheel loads in N, gradient and tip angle in deg; --json is SI with angles in rad. Best-estimate soil,\n"
        "no interval. Exit code 2: refused, also where nothing may be moved.\n"
        "Example: hardpan weights --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2' --soil lete_sand --K '15 mm'"},
      {"wheel",
        "One wheel on one soil: pull, torque and sinkage at a load and slip.\n"
        "Use it for a quick answer without a campaign, for instance which width or how much load; --slips gives a table over slip.\n"
        "Reads the built-in soils or a soil file, or takes the soil from options; writes nothing.\n"
        "Each value takes its unit: loads N, kN or lbf, lengths m, mm or in, pressures kPa or psi, angles deg, slip a share or %.\n"
        "--kc and --kphi are bare numbers, because their unit goes with n: N/m^(n+1) and N/m^(n+2). Most table soils need --K.\n"
        "A Reece, single-plate or organic-mat relation, a second layer and shear with a peak go through a soil file (--soil FILE).\n"
        "Prints the pull without and with slip sinkage, the lower one leading, and with grousers both the clean and the packed wheel.\n"
        "One wheel on untouched ground: several wheels, their loads and their drives are 'climb'. Thickness of grousers is not in the model; a\n"
        "wheel turning against its travel or sliding sideways at rest is not answered here.\n"
        "Exit code 2: refused, all at once; 3: the balance of load was not found. A wheel that the ground does not carry is an answer.\n"
        "Example: hardpan wheel --soil lete_sand --K '15 mm' --load '110 lbf' --radius '12 in' --width '8 in' --slip 20%\n"
        "Example: hardpan wheel --soil lete_sand --K '15 mm' --load '900 N' --radius '0.3 m' --width '0.2 m' --deflection '500 N: 8 mm' --deflection '1 kN: 14 mm'\n"
        "Example: hardpan wheel --soils"},
      {"climb",
        "One vehicle on one soil: the gradients it climbs and holds, and travel on a given one.\n"
        "Use it for a quick answer about a vehicle file before there is a campaign, or to try a change to it.\n"
        "Reads the vehicle file and a built-in soil, soil file or soil from options; writes nothing.\n"
        "--gravity is needed and takes a unit ('9.81 m/s^2'); gradients come out in deg, --gradient takes deg ('10 deg').\n"
        "--need '12 deg' adds the margin of the gradient at the working slip to it.\n"
        "With grousers the gradients for packed ones stand beside. Also whether the ground itself lies still on the gradient asked for and on\n"
        "the largest climbed: the factor of safety of sheets 0.1, 0.3 and 1 m deep, which needs --density where the soil has cohesion.\n"
        "The soil is one soil and no interval stands behind the answer: 'predict' gives that, over all soils that tests leave possible.\n"
        "Exit code 2: refused; 3: no gradient was found at the working slip within the steps allowed.\n"
        "Example: hardpan climb --vehicle vehicles/dunlin.toml --soil lete_sand --K '15 mm' --gravity '9.81 m/s^2'\n"
        "Example: hardpan climb --vehicle vehicles/dunlin.toml --soil lete_sand --K '15 mm' --gravity '9.81 m/s^2' --gradient '10 deg'"},
      {"tipover",
        "At which slope a vehicle tips over, for all directions of the fall line.\n"
        "Use it before driving on slopes or towing across them; the working limit is a share of the lower of two angles.\n"
        "Reads the vehicle file (mass, centre of gravity, axles, springs, payload); writes nothing.\n"
        "For each direction: the static angle, the angle settled on springs, tyres and a rut, the working limit, all in deg.\n"
        "--rut takes a length ('50 mm'), --hitch-pull a force ('500 N'), --line-angle an angle ('10 deg'); --need '20 deg' adds the margin of the working limit.\n"
        "Static: bumps, braking and turning tip a vehicle earlier. Exit code 2: refused.\n"
        "Example: hardpan tipover --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2' --rut '50 mm'"},
      {"obstacle",
        "Whether a vehicle gets over a step, a gap or a profile on hard ground, and what stops it.\n"
        "Use it before driving over kerbs, ditches and rock steps: it tells the least friction, the largest axle torque and the place where each is needed;\n"
        "with --friction also the highest step and the widest gap.\n"
        "Reads the vehicle file (axles, wheels, mass, centre of gravity, clearance, peak torque) and a profile sheet with columns x and z. Writes nothing, except:\n"
        "--picture a film strip to scale (SVG), --frames a folder with up to 120 pictures of an animation.\n"
        "--step and --gap take lengths ('120 mm'; a negative step goes down), --friction a coefficient (0.6).\n"
        "Quasi-static, left and right alike; joints and the flattening of wheels as the vehicle file says; soil, speed and crumbling edges are not in it. Exit code 2: refused; 3: a pose was not solved.\n"
        "Example: hardpan obstacle --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2' --step '120 mm' --friction 0.6"},
      {"slope",
        "The steepest slope on every heading: up, down, across and between, with drift and the tip-over limit.\n"
        "Use it to decide by which way a slope may be taken: across it side force and drift stop a vehicle, not pull.\n"
        "Reads the vehicle file and a built-in soil, soil file or soil from options; writes nothing. Prints a line a heading: up to the\n"
        "working slip and drift, with any slip, and what stops it. Angles in deg; --gravity and --density let the side wall of wheels count.\n"
        "Several bodies by their joints, those that yaw held straight or as steered. The ground as it is tested: a steeper slope than the ground stands on is not there to be driven ('hardpan climb').\n"
        "--need '12 deg' adds margins of the lower of working limit and working tip limit. Exit code 2: refused; 3: a heading was not solved.\n"
        "Example: hardpan slope --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2' --soil lete_sand --K '15 mm' --density '1600 kg/m^3' --headings 12"},
      {"turn",
        "How tightly a vehicle turns: by its steering, and on a soil what torque and work a turn takes and what stops it.\n"
        "Use it to lay out paths and turning places: angles, wheel paths and swept width for each radius; with --soil also slip, torque, work\n"
        "and the smallest radius before the ground gives out, the drives reach their peak or the steering its stop; on gradients and on a crest.\n"
        "Reads the vehicle file (axles, wheels, [steering], centre of gravity, drives) and a built-in soil, soil file or soil from options; writes nothing.\n"
        "--radius takes a length ('4 m', '0 m' on the spot) and may be repeated; --gradient, --heading, --crest and --crab take deg, --speed m/s; --need '4 m' with --soil: the margin of the smallest radius.\n"
        "Skid steering is what a file without [steering] has. Several bodies by their joints; none may yaw but the one it steers by. Slow and steady; ruts and stones resist more. Exit code 2: refused; 3: a turn was not solved.\n"
        "Example: hardpan turn --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2'\n"
        "Example: hardpan turn --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2' --soil lete_sand --K '15 mm' --radius '4 m' --radius '2 m' --gradient '8 deg' --heading '90 deg'"},
      {"stopping",
        "How fast by remote control through a delay: within what is seen and, with --fastest, within a corridor.\n"
        "Use it to set a speed limit for a link: it compares stopping within sight, steering in time, and moving and waiting.\n"
        "Reads options only; writes nothing. The braking coefficient comes from trials or from 'hardpan climb', without unit.\n"
        "Lengths take m or ft, times s, speeds m/s, km/h or mph, gravity m/s^2; slopes deg, downhill negative.\n"
        "Give the whole --delay, or --downlink, --reaction and --uplink; --at-delay adds a row and may be repeated; --need '1.5 m/s' adds the margin.\n"
        "An upper bound: fit an independent brake and a stop on loss of link. Exit code 2: refused, all at once.\n"
        "Example: hardpan stopping --sight '10 m' --delay '3 s' --braking 0.4 --gravity '1.62 m/s^2' --fastest '2 m/s' --at-delay '0.5 s' --at-delay '10 s'"},
      {"gravity",
        "What a test at one gravity says about another: equal weight, granular scaling, and predictions at both.\n"
        "Use it before testing a vehicle for another world. With --mass it gives the mass that weighs the same, the payload it leaves room\n"
        "for, and granular scaling. With --vehicle and a soil it predicts the vehicle as tested, the equal-weight test, and the target with\n"
        "its true mass on ground made softer by less gravity, and tells quantity by quantity what carries over and what does not.\n"
        "Reads the vehicle file and a built-in soil, soil file or soil from options; writes nothing.\n"
        "Masses take kg or lb; --mass comes out in the same unless --units says; gravity has a unit (1.62 m/s^2); gradients come out in deg,\n"
        "ratios without a unit, target over test. --need '12 deg' with --vehicle adds the margin of the target's gradient at the working slip.\n"
        "--self-weight-share is an assumption wherever a soil is not given by Reece's relation. Exit code 2: refused.\n"
        "Example: hardpan gravity --mass '66 lb' --from '9.81 m/s^2' --to '1.62 m/s^2'\n"
        "Example: hardpan gravity --vehicle vehicles/dunlin.toml --soil lete_sand --K '15 mm' --from '9.81 m/s^2' --to '1.62 m/s^2' --self-weight-share '80 %'"},
      {"ride",
        "How fast rough ground may be driven: wheels leaving it, a shock bound, a ride bound.\n"
        "Use it for the speed that waves, a surveyed wheel path or a class of roughness allow, beside what power and stopping allow.\n"
        "Reads the vehicle file (masses, axles, stiffness of wheels and suspension) and a sheet of heights; writes nothing.\n"
        "Speeds come out in m/s, accelerations in m/s^2, with --units US in mph and ft/s^2. Bounds are yours: none is assumed. Damping and radius of gyration that the file\n"
        "does not state are assumed and named. --need '3 m/s' adds the margin. Exit code 2: refused.\n"
        "Example: hardpan ride --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2' --wave-length '4 m' --amplitude '0.1 m' --shock '5 m/s^2'\n"
        "Example: hardpan ride --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2' --class E --ride '0.8 m/s^2' --weighting people"},
      {"boulders",
        "How often a straight run over a boulder field is stopped, by a law of sizes or a map of rocks.\n"
        "Use it to choose between sites and clearances: hits a metre, mean free path, chance of a clear run, and which rocks stop it.\n"
        "Reads the vehicle file (axles, track widths, clearance) and a sheet of rocks or of a law; writes nothing.\n"
        "Lengths come out in m, with --units US in ft. The highest step is computed from --friction (as 'hardpan obstacle' does) or stated. Exit code 2: refused;\n"
        "3: the highest step has no numerical answer. --need '90 %' adds the margin of the chance that the run is clear.\n"
        "Example: hardpan boulders --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2' --friction 0.6 --coverage '10 %' --length '100 m'\n"
        "Example: hardpan boulders --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2' --step '0.12 m' --map rocks.csv --plot '0 m' '0 m' '40 m' '30 m' --start '0 m' '15 m'"},
      {"endurance",
        "How far a vehicle gets on a drive profile: energy, time, charge along the way, hot drives, what ends it.\n"
        "Use it to size a battery or plan a day: distance, gradient, ground, speed and halt row by row, with reserve and temperature.\n"
        "Reads the vehicle file (drives, battery, idle loads), the trip sheet, and a soil for rows that name none; writes nothing.\n"
        "Energy comes out in Wh, distances in m and km, torque in N m; with --units US in ft, mi and lbf ft. A drive over its continuous torque holds it for the time told.\n"
        "Exit code 2: refused; 3: a row has no numerical answer.\n"
        "Example: hardpan endurance --vehicle vehicles/dunlin.toml --trip day.csv --gravity '9.81 m/s^2' --soil lete_sand --K '15 mm' --reserve '20 %' --and-back"},
      {"study",
        "One or two parameters of a vehicle swept on a soil: wheel diameter, width or stiffness, mass, slip, speed.\n"
        "Use it while a vehicle is being designed: what another wheel, mass or speed would bring, with its margin to --need. Each variant is\n"
        "the vehicle of the file with only that changed; the body is lifted with larger wheels. A variant that is no vehicle says why.\n"
        "Reads the vehicle file and a built-in soil, soil file or soil from options; writes nothing. A campaign does the same over possible\n"
        "soils, with figures ([[study]] in campaign.toml).\n"
        "--quantity says what is swept; speed acts through power and turning speed of the drives, idle loads and rough ground, and is refused\n"
        "where nothing depends on it. Gradients come out in deg, energy in Wh/km (--units US: Wh/mi), pull over weight and the ride margin without unit.\n"
        "Exit code 2: refused; 3: a variant has no numerical answer.\n"
        "Example: hardpan study --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2' --soil lete_sand --K '15 mm' --vary 'wheel diameter: 0.4 m to 0.8 m in 5' --vary 'mass: 300 kg to 500 kg in 3'\n"
        "Example: hardpan study --vehicle vehicles/dunlin.toml --gravity '9.81 m/s^2' --quantity ride --class D --absorbed-power '6 W' --vary 'speed: 0.5 m/s to 4 m/s in 8'"}};
  return kHelp.at(verb);
}

VerbHelp::VerbHelp() { label("SUBCOMMAND", "VERB"); }

std::string VerbHelp::make_subcommand(const CLI::App* verb) const {
  const std::string text = verb->get_description();
  std::stringstream out;
  CLI::detail::format_help(out, verb->get_display_name(true), text.substr(0, text.find('\n')), get_column_width());
  return out.str();
}

namespace {

std::string nearest(const std::vector<std::string>& names, const std::string& typed) {
  std::string best;
  std::size_t least = 3;
  for (const std::string& name : names) {
    std::vector<std::vector<std::size_t>> d(typed.size() + 1, std::vector<std::size_t>(name.size() + 1));
    for (std::size_t i = 0; i <= typed.size(); ++i) {
      for (std::size_t j = 0; j <= name.size(); ++j) {
        if (i == 0 || j == 0) {
          d[i][j] = i + j;
          continue;
        }
        d[i][j] = std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + (typed[i - 1] == name[j - 1] ? 0 : 1)});
        if (i > 1 && j > 1 && typed[i - 1] == name[j - 2] && typed[i - 2] == name[j - 1]) d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
      }
    }
    if (d[typed.size()][name.size()] < least) {
      least = d[typed.size()][name.size()];
      best = name;
    }
  }
  return best;
}

}  // namespace

std::string nearest_verb(const CLI::App& app, const std::string& typed) {
  std::vector<std::string> names;
  for (const CLI::App* verb : app.get_subcommands([](const CLI::App*) { return true; })) names.push_back(verb->get_name());
  return nearest(names, typed);
}

std::string nearest_option(const std::vector<std::string>& options, const std::string& typed) {
  if (const std::string best = nearest(options, typed); !best.empty()) return best;
  for (const std::string& option : options) {
    if (typed.size() > 3 && (option.starts_with(typed) || typed.starts_with(option))) return option;
  }
  return "";
}

}  // namespace hardpan::cli

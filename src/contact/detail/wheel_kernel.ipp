// SPDX-License-Identifier: Apache-2.0
// The wheel kernel: one text over the number type, included inside a namespace once per instruction
// set (plain by detail/load_curve.cpp, vectors by wheel_batch.cpp). No includes and no guard here. HARDPAN_KERNEL
// is what stands before a function: vectors gain two fifths when everything is inlined.
//
// Source: Wong and Reece 1967 (stresses and their integrals), Ding et al. 2011 (exit angle), Bekker
// 1960 and Schmid 1995 (substitute circle). Differs from them in: shear travel as a net vector
// with one strength for both components; rear stresses by mirrored nodes, so that the
// pressure is evaluated once for both sides; equations (1) to (16) of docs/theory/contact.md.
//
// Notation: R radius of the circle in use, th angle from the vertical, th1 entry, thm largest stress,
// th2 exit, u in [0, 1] with th = th1 - (th1 - thm) u^3 before and th = th2 + (thm - th2) u^3 behind,
// gap = th - sin th, versine = 1 - cos th (both kept small-number exact), V = number type of the
// frame, T = V or Rate<V>.
//
// The number type offers + - * / with itself and double, comparisons giving a mask, and
// exponential, logarithm, square_root, arc_tangent, smaller, larger, magnitude, multiply_add, choose,
// with_sign_of, both, any_positive.

// A value and its rate with the unknown of the load balance.
template <class V>
struct Rate {
  V v;
  V d;
};
template <class V>
HARDPAN_KERNEL Rate<V> operator+(const Rate<V>& a, const Rate<V>& b) { return {a.v + b.v, a.d + b.d}; }
template <class V>
HARDPAN_KERNEL Rate<V> operator+(const Rate<V>& a, const V& b) { return {a.v + b, a.d}; }
template <class V>
HARDPAN_KERNEL Rate<V> operator+(const V& a, const Rate<V>& b) { return {a + b.v, b.d}; }
template <class V>
HARDPAN_KERNEL Rate<V> operator-(const Rate<V>& a) { return {-a.v, -a.d}; }
template <class V>
HARDPAN_KERNEL Rate<V> operator-(const Rate<V>& a, const Rate<V>& b) { return {a.v - b.v, a.d - b.d}; }
template <class V>
HARDPAN_KERNEL Rate<V> operator-(const Rate<V>& a, const V& b) { return {a.v - b, a.d}; }
template <class V>
HARDPAN_KERNEL Rate<V> operator-(const V& a, const Rate<V>& b) { return {a - b.v, -b.d}; }
template <class V>
HARDPAN_KERNEL Rate<V> operator*(const Rate<V>& a, const Rate<V>& b) {
  return {a.v * b.v, multiply_add(a.v, b.d, a.d * b.v)};
}
template <class V>
HARDPAN_KERNEL Rate<V> operator*(const Rate<V>& a, const V& b) { return {a.v * b, a.d * b}; }
template <class V>
HARDPAN_KERNEL Rate<V> operator*(const V& a, const Rate<V>& b) { return {a * b.v, a * b.d}; }
template <class V>
HARDPAN_KERNEL Rate<V> operator/(const Rate<V>& a, const Rate<V>& b) {
  const V inverse = V(1.0) / b.v;
  const V quotient = a.v * inverse;
  return {quotient, (a.d - quotient * b.d) * inverse};
}
template <class V>
HARDPAN_KERNEL Rate<V> operator/(const Rate<V>& a, const V& b) {
  const V inverse = V(1.0) / b;
  return {a.v * inverse, a.d * inverse};
}
template <class V>
HARDPAN_KERNEL Rate<V> multiply_add(const Rate<V>& a, const Rate<V>& b, const Rate<V>& c) {
  return {multiply_add(a.v, b.v, c.v), multiply_add(a.v, b.d, multiply_add(a.d, b.v, c.d))};
}
template <class V>
HARDPAN_KERNEL Rate<V> multiply_add(const Rate<V>& a, const V& b, const Rate<V>& c) {
  return {multiply_add(a.v, b, c.v), multiply_add(a.d, b, c.d)};
}
template <class V>
HARDPAN_KERNEL Rate<V> multiply_add(const V& a, const Rate<V>& b, const Rate<V>& c) { return multiply_add(b, a, c); }
template <class V>
HARDPAN_KERNEL Rate<V> multiply_add(const V& a, const Rate<V>& b, const V& c) {
  return {multiply_add(a, b.v, c), a * b.d};
}
template <class V>
HARDPAN_KERNEL Rate<V> multiply_add(const Rate<V>& a, const V& b, const V& c) { return multiply_add(b, a, c); }
template <class V>
HARDPAN_KERNEL Rate<V> exponential(const Rate<V>& a) {
  const V e = exponential(a.v);
  return {e, e * a.d};
}
template <class V>
HARDPAN_KERNEL Rate<V> square_root(const Rate<V>& a) {
  const V root = square_root(a.v);
  return {root, a.d * (V(0.5) / root)};
}
template <class V>
HARDPAN_KERNEL Rate<V> arc_tangent(const Rate<V>& a) {
  return {arc_tangent(a.v), a.d / multiply_add(a.v, a.v, V(1.0))};
}
template <class V>
HARDPAN_KERNEL Rate<V> magnitude(const Rate<V>& a) { return {magnitude(a.v), choose(a.v < V(0.0), -a.d, a.d)}; }
template <class V>
HARDPAN_KERNEL Rate<V> with_sign_of(const Rate<V>& size, const Rate<V>& sign) {
  return {with_sign_of(size.v, sign.v), choose(sign.v < V(0.0), -size.d, size.d)};
}
template <class V>
HARDPAN_KERNEL Rate<V> smaller(const Rate<V>& a, const Rate<V>& b) {
  const auto first = a.v < b.v;
  return {choose(first, a.v, b.v), choose(first, a.d, b.d)};
}

// What stays of a number when its rate is not wanted.
template <class V>
HARDPAN_KERNEL const V& value_part(const V& x, const V&) { return x; }
template <class V>
HARDPAN_KERNEL const V& value_part(const Rate<V>& x, const V&) { return x.v; }
// A constant as T.
template <class V>
HARDPAN_KERNEL V constant(const V& x, const V&) { return x; }
template <class V>
HARDPAN_KERNEL Rate<V> constant(const V& x, const Rate<V>&) { return {x, V(0.0)}; }
template <class V>
HARDPAN_KERNEL V limited(const V& x, const V& limit, const V&) { return smaller(x, limit); }
template <class V>
HARDPAN_KERNEL Rate<V> limited(const Rate<V>& x, const V& limit, const V&) {
  const auto below = x.v < limit;
  return {choose(below, x.v, limit), choose(below, x.d, V(0.0))};
}

// Keeps a depth that rounding has eaten positive; its rate stays.
template <class V>
HARDPAN_KERNEL V at_least(const V& x, const V& least) { return larger(x, least); }
template <class V>
HARDPAN_KERNEL Rate<V> at_least(const Rate<V>& x, const V& least) { return {larger(x.v, least), x.d}; }

// th - sin th and 1 - cos th by their Taylor series: on [-pi/2, pi/2] to th^19 and th^20, remainders under 3e-16
// and 4e-18 of the sum. With HARDPAN_SHALLOW to th^15 and th^16, which is as good up to kKnownUpTo, beyond
// which the vector path gives no answers.
template <class T>
struct Turn {
  T gap, versine;
};
template <class V>
HARDPAN_KERNEL Turn<V> turn_of(const V& th) {
  const V s = th * th;
#ifdef HARDPAN_SHALLOW
  V gap(-7.64716373181981648e-13);  // 1/15!
  V versine(4.77947733238738530e-14);  // 1/16!
#else
  V gap(-8.22063524662432972e-18);  // 1/19!
  gap = multiply_add(gap, s, V(2.81145725434552076e-15));
  gap = multiply_add(gap, s, V(-7.64716373181981648e-13));
  V versine(4.11031762331216486e-19);  // 1/20!
  versine = multiply_add(versine, s, V(-1.56192069685862265e-16));
  versine = multiply_add(versine, s, V(4.77947733238738530e-14));
#endif
  gap = multiply_add(gap, s, V(1.60590438368216146e-10));
  gap = multiply_add(gap, s, V(-2.50521083854417188e-8));
  gap = multiply_add(gap, s, V(2.75573192239858907e-6));
  gap = multiply_add(gap, s, V(-1.98412698412698413e-4));
  gap = multiply_add(gap, s, V(8.33333333333333333e-3));
  gap = multiply_add(gap, s, V(-1.66666666666666667e-1));
  versine = multiply_add(versine, s, V(-1.14707455977297247e-11));
  versine = multiply_add(versine, s, V(2.08767569878680990e-9));
  versine = multiply_add(versine, s, V(-2.75573192239858907e-7));
  versine = multiply_add(versine, s, V(2.48015873015873016e-5));
  versine = multiply_add(versine, s, V(-1.38888888888888889e-3));
  versine = multiply_add(versine, s, V(4.16666666666666667e-2));
  versine = multiply_add(versine, s, V(-5.00000000000000000e-1));
  return {-(gap * s * th), -(versine * s)};
}
template <class V>
HARDPAN_KERNEL Turn<Rate<V>> turn_of(const Rate<V>& th) {
  const Turn<V> turn = turn_of(th.v);
  return {{turn.gap, turn.versine * th.d}, {turn.versine, (th.v - turn.gap) * th.d}};
}
template <class T>
HARDPAN_KERNEL T sine(const T& th, const Turn<T>& turn) { return th - turn.gap; }

// The law that holds at a depth: k z^n + quadratic z^2 in z = depth, or below a break in z = depth + floor.
template <class V>
struct LawHere {
  V k, n, quadratic, z;
};
template <class V>
HARDPAN_KERNEL LawHere<V> law_here(const Frame<V>& frame, const Plan& plan, const V& depth) {
  if (!plan.breaks) return {frame.k, frame.n, frame.quadratic, depth};
  const auto deep = depth > frame.break_depth;
  return {choose(deep, frame.k_below, frame.k), choose(deep, frame.n_below, frame.n),
          choose(deep, frame.quadratic_below, frame.quadratic), choose(deep, depth + frame.floor, depth)};
}
template <class V>
HARDPAN_KERNEL V pressure(const Frame<V>& frame, const Plan& plan, const V& depth) {
  const LawHere<V> law = law_here(frame, plan, depth);
  return multiply_add(law.quadratic * law.z, law.z, law.k * exponential(law.n * logarithm(law.z)));
}
template <class V>
HARDPAN_KERNEL Rate<V> pressure(const Frame<V>& frame, const Plan& plan, const Rate<V>& depth) {
  const LawHere<V> law = law_here(frame, plan, depth.v);
  const V power = law.k * exponential(law.n * logarithm(law.z));
  const V square = law.quadratic * law.z * law.z;
  return {power + square, depth.d * multiply_add(law.n, power, square + square) / law.z};
}

// The circle in use and the angles on it.
template <class T>
struct Arc {
  T radius, entry, exit, peak;
  T depth;          // z0
  Turn<T> at_entry;
};

// Equations (1) to (4): from the entry angle of the undeflected wheel.
template <class V, class T>
HARDPAN_KERNEL Arc<T> arc_of(const Frame<V>& frame, const Plan& plan, const T& undeflected) {
  Arc<T> arc;
  const Turn<T> turn = turn_of(undeflected);
  arc.depth = frame.radius * turn.versine;
  if (plan.flexible) {
    const V diameter = frame.radius + frame.radius;
    const T sum = arc.depth + frame.deflection;
    const V rear = square_root((diameter - frame.deflection) * frame.deflection);
    const T length = square_root((diameter - sum) * sum) + rear;
    const T ratio = arc.depth / length;
    arc.radius = V(0.5) * (arc.depth + length / ratio);
    arc.entry = V(2.0) * arc_tangent(ratio);
    arc.at_entry = turn_of(arc.entry);
  } else {
    arc.radius = constant(frame.radius, undeflected);
    arc.entry = undeflected;
    arc.at_entry = turn;
  }
  arc.peak = frame.peak_ratio * arc.entry;
  if (plan.rebounds) {
    // 1 - cos th2 = (pu / ku) / R, ku = max(k0 + Au zu, pu / zu, dp/dz); pu / zu by Rate's depth.
    const T p = pressure(frame, plan, arc.depth);
    const LawHere<V> law = law_here(frame, plan, value_part(arc.depth, frame.k));
    const V depth = law.z, at = value_part(p, frame.k);
    const V slope = multiply_add(law.n, at, (V(2.0) - law.n) * law.quadratic * depth * depth) / depth;
    const V stiff = multiply_add(frame.rebound_au, depth, frame.rebound_k0);
    const V ku = larger(stiff, larger(at / depth, slope));
    // The stiffness is held while differentiating where the pressure law governs: the root is
    // safeguarded by its bracket, the rate only sets the speed.
    const T rise = p / (ku * arc.radius);
    arc.exit = -(V(2.0) * arc_tangent(square_root(rise / (V(2.0) - rise))));
  } else {
    arc.exit = -(frame.exit_ratio * arc.entry);
  }
  return arc;
}

// Angle at which the versine is `versine`.
template <class V>
HARDPAN_KERNEL V angle_of_versine(const V& versine) {
  return V(2.0) * arc_tangent(square_root(versine / (V(2.0) - versine)));
}

// Net travel over rs at an angle, A (th1 - th) - B (sin th1 - sin th), from gaps: nothing cancels while driving.
template <class V, class T>
HARDPAN_KERNEL T travel_of(const Frame<V>& frame, const T& turned, const T& gap_difference) {
  return multiply_add(frame.travel_b, gap_difference, (frame.travel_a - frame.travel_b) * turned);
}

// Where the net travel of a braked wheel crosses zero between `low` and `high`, one end of which is the
// place it turns back; six Newton steps held in the bracket (observed: four reach rounding).
template <class V>
HARDPAN_KERNEL V reversal_between(const Frame<V>& frame, const V& entry, const Turn<V>& at_entry, const V& start,
                          V low, V high, const V& sign) {
  V th = start;
  for (int step = 0; step < 6; ++step) {
    const Turn<V> turn = turn_of(th);
    const V g = sign * travel_of(frame, entry - th, at_entry.gap - turn.gap);
    const auto above = g > V(0.0);  // the zero lies below th where g falls with th ... by sign
    high = choose(above, th, high);
    low = choose(above, low, th);
    const V slope = sign * (frame.travel_b * (V(1.0) - turn.versine) - frame.travel_a);
    V next = th - g / slope;
    const V middle = V(0.5) * (low + high);
    next = choose(both(next >= low, next <= high), next, middle);
    th = next;
  }
  return th;
}

inline constexpr int kMostPieces = 8;
// Ends of the pieces on which the integrand is smooth, in u; pieces of no length do no harm.
template <class V>
struct Pieces {
  int count = 1;
  V end[kMostPieces + 1];
};

// u of a share of the arc. A split nearer to the entry than u = 0.003 moves there: the stresses before it
// count under 1e-10, and the depth at the first node stays a number.
template <class V>
HARDPAN_KERNEL V cube_root(const V& share) {
  return exponential(logarithm(larger(smaller(share, V(1.0)), V(2.7e-8))) * V(1.0 / 3.0));
}

// u of an angle: on the front arc or mirrored on the rear one.
template <class V>
HARDPAN_KERNEL V place_of(const Arc<V>& arc, const V& th) {
  const V front = (arc.entry - th) / (arc.entry - arc.peak);
  const V rear = (th - arc.exit) / larger(arc.peak - arc.exit, V(1e-300));
  return cube_root(choose(th > arc.peak, front, rear));
}

template <Direction kDirection, class V>
HARDPAN_KERNEL Pieces<V> pieces_of(const Frame<V>& frame, const Arc<V>& arc, const Plan& plan) {
  Pieces<V> pieces;
  pieces.end[0] = V(0.0);
  int splits = 0;
  const auto add = [&](const V& u) {
    // Insertion keeps the ends rising in every lane.
    V carried = u;
    for (int i = 1; i <= splits; ++i) {
      const V low = smaller(pieces.end[i], carried);
      carried = larger(pieces.end[i], carried);
      pieces.end[i] = low;
    }
    pieces.end[++splits] = carried;
  };
  // A depth on the front arc, mirrored on the rear one; behind the last piece where the wheel does not reach it.
  const auto add_depth = [&](const V& depth) {
    const V lower = arc.at_entry.versine - depth / arc.radius;
    const V th = angle_of_versine(larger(lower, V(0.0)));
    const V u = cube_root((arc.entry - th) / (arc.entry - arc.peak));
    add(choose(both(depth > V(0.0), lower > V(0.0)), u, V(1.0)));
  };
  if (plan.switches) add_depth(frame.switch_depth);
  if (plan.breaks) add_depth(frame.break_depth);
  if constexpr (kDirection == Direction::reversing || kDirection == Direction::oblique) {
    // The travel grows from th1 down to `reversal`, falls to -reversal, grows again.
    const auto turns = frame.reversal < arc.entry;
    const V high = smaller(frame.reversal, arc.entry), low = larger(-frame.reversal, arc.exit);
    const V root = square_root(larger(V(4.0) * (V(1.0) - frame.travel_a / frame.travel_b) * V(6.0) -
                                          V(3.0) * arc.entry * arc.entry, V(0.0)));
    const V guess = V(0.5) * (root - arc.entry);
    const V start = choose(both(guess > low, guess < high), guess, V(0.5) * (low + high));
    const V th = reversal_between(frame, arc.entry, arc.at_entry, start, low, high, V(1.0));
    add(choose(turns, place_of(arc, th), V(1.0)));
    if constexpr (kDirection == Direction::oblique) {
      // With little side travel the direction of shear swings round within a short arc: that arc is a piece of
      // its own, about six times the half-width jy / (djx/dth).
      const V swing = V(6.0) * frame.travel_side * (arc.entry - th) /
                      larger(frame.travel_b * (V(1.0) - turn_of(th).versine) - frame.travel_a, V(1e-3));
      add(choose(both(turns, th + swing < arc.entry), place_of(arc, th + swing), V(1.0)));
      add(choose(both(turns, th - swing > arc.exit), place_of(arc, th - swing), V(1.0)));
    }
    if (plan.exit_behind) {
      const V below = smaller(-frame.reversal, arc.peak);
      const V start2 = V(0.5) * (below + arc.exit);
      const V second = reversal_between(frame, arc.entry, arc.at_entry, start2, smaller(arc.exit, below), below, V(-1.0));
      add(choose(both(turns, arc.exit < below), place_of(arc, second), V(1.0)));
    }
  }
  if constexpr (kDirection == Direction::sliding) {
    // travel_a - travel_b cos th changes sign at +th and -th.
    const V versine = V(1.0) - frame.travel_a / frame.travel_b;
    const auto turns = both(versine > V(0.0), versine < arc.at_entry.versine);
    const V th = angle_of_versine(choose(turns, versine, V(0.5)));
    add(choose(turns, place_of(arc, th), V(1.0)));
    if (plan.exit_behind) add(choose(both(turns, -th > arc.exit), place_of(arc, -th), V(1.0)));
  }
  pieces.count = splits + 1;
  pieces.end[pieces.count] = V(1.0);
  return pieces;
}

// Shear stress components at one place.
template <class T>
struct ShearStress {
  T along, across;
};

// Share of the strength after a travel of y times K. kSaturating: 1 - exp(-y), else see Contact.
template <bool kSaturating, class V, class T>
HARDPAN_KERNEL T mobilised_share(const Frame<V>& frame, const T& y) {
  const V one(1.0);
  if constexpr (kSaturating) {
    return one - exponential(-y);
  } else {
    const T held = limited(y, V(700.0), one);
    const T e = exponential(-held);
    return multiply_add(frame.m2, held * e, multiply_add(frame.m1, e, constant(frame.m0, e)) * (one - e));
  }
}

// Equations (7) to (9).
template <Direction kDirection, bool kSaturating, class V, class T>
HARDPAN_KERNEL ShearStress<T> shear_at(const Frame<V>& frame, const T& strength, const T& modulus_scale, const T& turned,
                               const T& gap_difference, const T& versine) {
  if constexpr (kDirection == Direction::sliding) {
    const T ux = multiply_add(frame.travel_b, versine, constant(frame.travel_a - frame.travel_b, strength));
    const V uy = frame.travel_side;
    const T speed = square_root(multiply_add(ux, ux, constant(uy * uy + V(1e-300), strength)));
    const T share = frame.m0 * strength / speed;
    return {share * ux, share * uy};
  } else {
    const T jx = travel_of(frame, turned, gap_difference);
    if constexpr (kDirection == Direction::oblique) {
      const T jy = frame.travel_side * turned;
      const T j = square_root(multiply_add(jx, jx, multiply_add(jy, jy, constant(V(1e-290), strength))));
      const T tau = strength * mobilised_share<kSaturating>(frame, j * modulus_scale) / j;
      return {tau * jx, tau * jy};
    } else {
      const T j = kDirection == Direction::reversing ? magnitude(jx) : jx;
      const T tau = strength * mobilised_share<kSaturating>(frame, j * modulus_scale);
      return {kDirection == Direction::reversing ? with_sign_of(tau, jx) : tau, tau};
    }
  }
}

// The sums over the arc. kAll false: the load alone. Equations (5), (6), (10) to (13).
template <Direction kDirection, bool kSaturating, bool kAll, class V, class T>
HARDPAN_KERNEL Sums<T> sums_over_arc(const Frame<V>& frame, const Plan& plan, const T& undeflected, const Rule& rule) {
  const Arc<T> arc = arc_of(frame, plan, undeflected);
  const Arc<V> here{value_part(arc.radius, frame.k), value_part(arc.entry, frame.k), value_part(arc.exit, frame.k),
                    value_part(arc.peak, frame.k),   value_part(arc.depth, frame.k),
                    {value_part(arc.at_entry.gap, frame.k), value_part(arc.at_entry.versine, frame.k)}};
  const Pieces<V> pieces = pieces_of<kDirection>(frame, here, plan);

  const T front_arc = arc.entry - arc.peak, rear_arc = arc.peak - arc.exit;
  const T whole = arc.entry - arc.exit;
  const T modulus_scale = (arc.radius + frame.grouser) * frame.inverse_k;
  const T zero = constant(V(0.0), undeflected);
  Sums<T> sums{zero, zero, zero, zero, zero, arc.radius, arc.entry, arc.exit, arc.peak};

  for (int piece = 0; piece < pieces.count; ++piece) {
    const V from = pieces.end[piece], length = pieces.end[piece + 1] - from;
    if (!any_positive(length)) continue;
    for (int i = 0; i < rule.count; ++i) {
      const V u = multiply_add(length, V(rule.node[static_cast<std::size_t>(i)]), from);
      const V u_square = u * u;
      const V u_power = u_square * u;
      const V weight = length * V(3.0 * rule.weight[static_cast<std::size_t>(i)]) * u_square;

      const T before = front_arc * u_power;                 // th1 - th, front
      const T front = arc.entry - before;
      const T rear = multiply_add(u_power, rear_arc, arc.exit);
      const Turn<T> at_front = turn_of(front), at_rear = turn_of(rear);

      const T depth = at_least(arc.radius * (arc.at_entry.versine - at_front.versine), V(1e-18) * here.depth);
      const T sigma = pressure(frame, plan, depth);
      const T strength = smaller(multiply_add(frame.tan_phi, sigma, constant(frame.cohesion, sigma)),
                                 multiply_add(frame.other_tan, sigma, constant(frame.other_cohesion, sigma)));
      const ShearStress<T> tau_front = shear_at<kDirection, kSaturating>(frame, strength, modulus_scale, before,
                                                           arc.at_entry.gap - at_front.gap, at_front.versine);
      const ShearStress<T> tau_rear = shear_at<kDirection, kSaturating>(frame, strength, modulus_scale,
                                                          whole - rear_arc * u_power,
                                                          arc.at_entry.gap - at_rear.gap, at_rear.versine);
      const T sin_front = sine(front, at_front), sin_rear = sine(rear, at_rear);
      const T cos_front = V(1.0) - at_front.versine, cos_rear = V(1.0) - at_rear.versine;
      const T front_weight = weight * front_arc, rear_weight = weight * rear_arc;

      const T lift_front = tau_front.along * sin_front, lift_rear = tau_rear.along * sin_rear;
      sums.load = multiply_add(front_weight, multiply_add(sigma, cos_front, lift_front), sums.load);
      sums.load = multiply_add(rear_weight, multiply_add(sigma, cos_rear, lift_rear), sums.load);
      if constexpr (kAll) {
        sums.against = multiply_add(front_weight, smaller(lift_front, zero), sums.against);
        sums.against = multiply_add(rear_weight, smaller(lift_rear, zero), sums.against);
        sums.pull = multiply_add(front_weight, tau_front.along * cos_front - sigma * sin_front, sums.pull);
        sums.pull = multiply_add(rear_weight, tau_rear.along * cos_rear - sigma * sin_rear, sums.pull);
        sums.shear = multiply_add(front_weight, tau_front.along, sums.shear);
        sums.shear = multiply_add(rear_weight, tau_rear.along, sums.shear);
        if constexpr (kDirection == Direction::oblique || kDirection == Direction::sliding) {
          sums.side = multiply_add(front_weight, tau_front.across, sums.side);
          sums.side = multiply_add(rear_weight, tau_rear.across, sums.side);
        }
      }
    }
  }
  return sums;
}

// Passive pressure of the soil beside the sunk chord, equations (14) and (15): th = th1 (1 - 2 u).
template <class V>
HARDPAN_KERNEL V side_wall(const Frame<V>& frame, const Arc<V>& arc, const Rule& rule, bool fully) {
  const V one(1.0), two(2.0);
  const V root_kp = square_root(multiply_add(frame.tan_phi, frame.tan_phi, one)) + frame.tan_phi;  // tan(45 deg + phi/2)
  const V by_weight = V(0.5) * frame.unit_weight * root_kp * root_kp, by_cohesion = two * frame.cohesion * root_kp;
  const V travel = frame.travel_side * (arc.radius + frame.grouser) * frame.inverse_k;
  V sum(0.0);
  for (int i = 0; i < rule.count; ++i) {
    const V node(rule.node[static_cast<std::size_t>(i)]), weight(rule.weight[static_cast<std::size_t>(i)]);
    const V turned = two * node * arc.entry;
    const Turn<V> turn = turn_of(arc.entry - turned);
    const V z = arc.radius * (arc.at_entry.versine - turn.versine);
    const V wall = z * multiply_add(by_weight, z, by_cohesion);
    const V share = fully ? one : one - exponential(-(travel * turned));
    sum = multiply_add(weight * wall, share * (one - turn.versine), sum);
  }
  return two * arc.entry * arc.radius * sum;
}

// What is read off the contact besides the forces, at a solved sinkage.
template <class V>
HARDPAN_KERNEL Contour<V> contour_of(const Frame<V>& frame, const Plan& plan, const V& undeflected, const Rule& wall_rule) {
  const Arc<V> arc = arc_of(frame, plan, undeflected);
  const Turn<V> exit = turn_of(arc.exit), peak = turn_of(arc.peak);
  Contour<V> out;
  const bool sideways = plan.direction == Direction::oblique || plan.direction == Direction::sliding;
  out.side_wall = sideways ? side_wall(frame, arc, wall_rule, plan.direction == Direction::sliding) : V(0.0);
  out.depth = arc.depth;
  out.contact_length = arc.radius * (sine(arc.entry, arc.at_entry) - sine(arc.exit, exit));
  out.largest_pressure = pressure(frame, plan, arc.radius * (arc.at_entry.versine - peak.versine));
  // The travel is largest at the exit, or where a braked wheel's travel turns back.
  const auto travel_at = [&](const V& th, const Turn<V>& turn) {
    const V along = travel_of(frame, arc.entry - th, arc.at_entry.gap - turn.gap);
    const V across = frame.travel_side * (arc.entry - th);
    return square_root(multiply_add(along, along, across * across));
  };
  const V held = smaller(frame.reversal, arc.entry);
  const V most = larger(travel_at(arc.exit, exit), travel_at(held, turn_of(held)));
  out.largest_travel = most * ((arc.radius + frame.grouser) / frame.travel_a);
  return out;
}

// Small-angle estimate of the root, friction left out (theory page, eq. 18): in ln z by Newton,
// width k z^n (sqrt(2 r (z + f)) + sqrt(2 r f)) shape = load.
template <class V>
HARDPAN_KERNEL V first_guess(const Frame<V>& frame, const Plan& plan, const V& load_per_width) {
  const V one(1.0), n = frame.n, m = frame.peak_ratio, w = one - m;
  const V rear = (m + frame.exit_ratio) / w;
  const V bulk = n * logarithm(w * (V(2.0) - w * (n + one) / (n + V(2.0))));
  const V k = frame.k + frame.quadratic * V(0.1) * frame.radius;
  const V two_r = frame.radius + frame.radius;
  const V target = logarithm(load_per_width * (n + one) / (k * (one + rear) * w)) - bulk;
  V ln_z = (target - V(0.5) * logarithm(two_r)) / (n + V(0.5));
  if (plan.flexible) {
    const V carcass = square_root(two_r * frame.deflection);
    ln_z = smaller(ln_z, (target - logarithm(carcass + carcass)) / n);
    for (int i = 0; i < 3; ++i) {
      const V z = exponential(ln_z), front = square_root(two_r * (z + frame.deflection));
      const V miss = n * ln_z + logarithm(front + carcass) - target;
      ln_z = ln_z - miss / (n + frame.radius * z / (front * (front + carcass)));
    }
  }
  return square_root(V(2.0) * exponential(ln_z) / frame.radius);
}

// Does the ground yield before the carcass? The firm-ground pressure is set against the pressure at the
// bottom of the rigid wheel by one load: at the sinkage where the ground bears that pressure the rigid wheel
// must carry more than the load. Saturating laws or not makes no difference worth a kernel here.
template <Direction kDirection, class V>
HARDPAN_KERNEL V rigid_load_at_firm_pressure(const Frame<V>& frame, Plan plan, const V& load_per_width, const Rule& rule) {
  const V two_r = frame.radius + frame.radius;
  const V firm = load_per_width / (V(2.0) * square_root((two_r - frame.deflection) * frame.deflection));
  // p = k z + quadratic z^2, or k z^n.
  const auto depth_at_firm = [&](const V& k, const V& n, const V& quadratic) {
    const V by_root = V(2.0) * firm / (k + square_root(multiply_add(k, k, V(4.0) * quadratic * firm)));
    const V by_power = exponential(logarithm(firm / k) / n);
    return choose(quadratic > V(0.0), by_root, by_power);
  };
  V depth = depth_at_firm(frame.k, frame.n, frame.quadratic);
  if (plan.breaks) {
    const V below = depth_at_firm(frame.k_below, frame.n_below, frame.quadratic_below) - frame.floor;
    depth = choose(depth > frame.break_depth, larger(below, frame.break_depth), depth);
  }
  plan.flexible = false;
  const V versine = smaller(depth / frame.radius, V(1.0));
  const Sums<V> sums = sums_over_arc<kDirection, true, false>(frame, plan, angle_of_versine(versine), rule);
  // Deeper than the axle: softer than any rigid wheel needs.
  return choose(depth < frame.radius, sums.radius * sums.load, load_per_width + load_per_width);
}

// SPDX-License-Identifier: Apache-2.0
#include "base/problems.hpp"

#include <algorithm>
#include <map>
#include <tuple>

namespace hardpan::base {

std::string Place::text() const {
  std::string out = file;
  if (line != 0) out += ":" + std::to_string(line);
  if (line != 0 && column != 0) out += ":" + std::to_string(column);
  if (!key.empty()) out += out.empty() ? key : ": " + key;
  return out;
}

const char* name(Severity severity) {
  return severity == Severity::refusal ? "refusal" : "remark";
}

std::string Problem::text() const {
  std::string out = place.text();
  if (!out.empty()) out += ": ";
  out += what;
  if (!value.empty()) out += " (found \"" + value + "\")";
  if (!bound.empty()) out += "; accepted: " + bound;
  if (count > 1) out += " [" + std::to_string(count) + " times]";
  if (!remedy.empty()) out += "; " + remedy;
  return out;
}

void Problems::refuse(Problem problem) {
  problem.severity = Severity::refusal;
  list_.push_back(std::move(problem));
}

void Problems::remark(Problem problem) {
  problem.severity = Severity::remark;
  list_.push_back(std::move(problem));
}

void Problems::add(const Problems& other) {
  list_.insert(list_.end(), other.list_.begin(), other.list_.end());
}

void Problems::merge_alike() {
  std::map<std::tuple<std::string, std::string, std::string, std::string>, std::size_t> first;
  std::vector<Problem> merged;
  for (Problem& p : list_) {
    if (p.severity == Severity::refusal && p.place.line > 0 && p.place.key.empty()) {
      const auto [at, fresh] = first.try_emplace({p.place.file, p.what, p.value, p.bound}, merged.size());
      if (!fresh) {
        merged[at->second].count += p.count;
        continue;
      }
    }
    merged.push_back(std::move(p));
  }
  list_ = std::move(merged);
}

bool Problems::refused() const { return count(Severity::refusal) > 0; }

std::size_t Problems::count(Severity severity) const {
  return static_cast<std::size_t>(std::count_if(
      list_.begin(), list_.end(), [&](const Problem& p) { return p.severity == severity; }));
}

void Problems::throw_if_refused() const {
  if (refused()) throw InputError(*this);
}

InputError::InputError(Problems problems) : problems_(std::move(problems)) {
  for (const Problem& p : problems_.list()) {
    if (p.severity != Severity::refusal) continue;
    if (!text_.empty()) text_ += '\n';
    text_ += p.text();
  }
}

}  // namespace hardpan::base

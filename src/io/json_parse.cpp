// SPDX-License-Identifier: Apache-2.0
// Reading JSON back through nlohmann-json's event parser, which neither recurses nor keeps its own
// tree; duplicate keys and deep nesting are refused here because it would accept them.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "io/files.hpp"
#include "io/json.hpp"

namespace hardpan::io {
namespace {

constexpr std::size_t kDeepest = 200;

class Builder : public nlohmann::json_sax<nlohmann::json> {
 public:
  Json root;
  std::string fault;
  std::size_t fault_byte = 0;

  bool null() override { return put(Json()); }
  bool boolean(bool v) override { return put(Json(v)); }
  bool number_integer(number_integer_t v) override { return put(Json(v)); }
  bool number_unsigned(number_unsigned_t v) override { return put(Json(v)); }
  bool number_float(number_float_t v, const string_t&) override { return put(Json(v)); }
  bool string(string_t& v) override { return put(Json(std::move(v))); }
  bool binary(binary_t&) override { return false; }
  bool start_object(std::size_t) override { return open(Json::object()); }
  bool start_array(std::size_t) override { return open(Json::array()); }
  bool end_object() override { return close(); }
  bool end_array() override { return close(); }
  bool key(string_t& v) override {
    if (open_.back().value.find(v) != nullptr) {
      fault = "the key \"" + v + "\" is given twice";
      return false;
    }
    open_.back().key = std::move(v);
    return true;
  }
  bool parse_error(std::size_t position, const std::string& token,
                   const nlohmann::detail::exception&) override {
    fault_byte = position;
    fault = token.empty() ? "the text ends too early" : "this is not JSON";
    return false;
  }

 private:
  struct Open {
    Json value;
    std::string key;
  };
  bool put(Json value) {
    if (open_.empty()) root = std::move(value);
    else if (open_.back().value.is_array()) open_.back().value.push(std::move(value));
    else open_.back().value.set(std::move(open_.back().key), std::move(value));
    return true;
  }
  bool open(Json value) {
    if (open_.size() == kDeepest) {
      fault = "lists and objects are nested more than 200 deep";
      return false;
    }
    open_.push_back({std::move(value), {}});
    return true;
  }
  bool close() {
    Json done = std::move(open_.back().value);
    open_.pop_back();
    return put(std::move(done));
  }
  std::vector<Open> open_;
};

base::Place place_of(std::string_view text, std::size_t byte, const std::string& file) {
  const std::string_view before = text.substr(0, std::min(byte == 0 ? 0 : byte - 1, text.size()));
  const auto lines = static_cast<std::size_t>(std::count(before.begin(), before.end(), '\n'));
  const std::size_t start = before.rfind('\n') == std::string_view::npos ? 0 : before.rfind('\n') + 1;
  return {.file = file, .line = lines + 1, .column = before.size() - start + 1};
}

}  // namespace

std::optional<Json> parse_json(std::string_view text, const std::string& file, base::Problems& problems) {
  Builder builder;
  if (nlohmann::json::sax_parse(text.begin(), text.end(), &builder)) return std::move(builder.root);
  base::Place place = builder.fault_byte != 0 ? place_of(text, builder.fault_byte, file) : base::Place{.file = file};
  problems.refuse({.place = std::move(place), .what = builder.fault.empty() ? "this is not JSON" : builder.fault});
  return std::nullopt;
}

std::optional<Json> load_json(const std::string& path, base::Problems& problems) {
  const auto text = read_file(path, problems);
  if (!text) return std::nullopt;
  return parse_json(*text, path, problems);
}

}  // namespace hardpan::io

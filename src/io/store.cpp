// SPDX-License-Identifier: Apache-2.0
#include "io/store.hpp"

#include <sqlite3.h>

#include <cmath>
#include <stdexcept>
#include <utility>

#include "base/assertion.hpp"
#include "base/problems.hpp"

namespace hardpan::io {

Database::Database(std::string path, Mode mode, int busy_wait_ms) : path_(std::move(path)) {
  const int flags = mode == Mode::read_only ? SQLITE_OPEN_READONLY : SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE;
  const int code = sqlite3_open_v2(path_.c_str(), &handle_, flags, nullptr);
  try {
    if (code != SQLITE_OK) fail(code, "open");
    sqlite3_extended_result_codes(handle_, 1);
    sqlite3_busy_timeout(handle_, busy_wait_ms);
    exec("pragma foreign_keys = on");
    if (mode == Mode::read_write_create) {
      // One file and no helper files beside it once a run has ended.
      exec("pragma journal_mode = delete");
      exec("pragma synchronous = full");
    }
    // Opening reads nothing; this does, so that a damaged file is refused here.
    exec("select count(*) from sqlite_schema");
  } catch (...) {
    sqlite3_close(handle_);
    throw;
  }
}

Database::~Database() { sqlite3_close_v2(handle_); }

void Database::fail(int code, std::string_view doing) const {
  const std::string detail = handle_ != nullptr ? sqlite3_errmsg(handle_) : sqlite3_errstr(code);
  const auto environment = [&](const std::string& why) {
    return base::EnvironmentError("cannot " + std::string(doing) + " " + path_ + ": " + why);
  };
  switch (code & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      throw environment("another program is using it; wait until it has ended, then run again");
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH:
      throw environment("it is read-only; give yourself the right to write it and its folder");
    case SQLITE_FULL:
      throw environment("the disk is full; free some space and run again");
    case SQLITE_CANTOPEN:
      throw environment("it cannot be opened or made; check that the folder exists and can be written");
    case SQLITE_IOERR:
      throw environment("the disk reports a fault (" + detail + ")");
    case SQLITE_NOMEM:
      throw environment("there is not enough memory");
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
    case SQLITE_FORMAT: {
      base::Problems problems;
      problems.refuse({.place = {.file = path_}, .what = "the file is damaged or is not a SQLite database",
                       .remedy = "restore it from a copy, or move it away and a new one is started"});
      throw base::InputError(problems);
    }
    default:
      throw std::logic_error("fault in the program: SQLite cannot " + std::string(doing) + " " + path_ + ": " +
                             detail + " (code " + std::to_string(code) + ")");
  }
}

void Database::exec(const std::string& sql) {
  const int code = sqlite3_exec(handle_, sql.c_str(), nullptr, nullptr, nullptr);
  if (code != SQLITE_OK) fail(code, "use");
}

Statement Database::prepare(std::string_view sql) {
  sqlite3_stmt* statement = nullptr;
  const int code = sqlite3_prepare_v2(handle_, sql.data(), static_cast<int>(sql.size()), &statement, nullptr);
  if (code != SQLITE_OK) fail(code, "use");
  HARDPAN_ASSERT(statement != nullptr);
  return {this, statement};
}

std::int64_t Database::last_insert_id() const { return sqlite3_last_insert_rowid(handle_); }

Statement::Statement(Statement&& other) noexcept
    : database_(other.database_), statement_(std::exchange(other.statement_, nullptr)) {}

Statement::~Statement() { sqlite3_finalize(statement_); }

Statement& Statement::bind(int position, double value) {
  if (std::isnan(value)) return bind_null(position);
  if (const int code = sqlite3_bind_double(statement_, position, value)) database_->fail(code, "use");
  return *this;
}

Statement& Statement::bind(int position, std::int64_t value) {
  if (const int code = sqlite3_bind_int64(statement_, position, value)) database_->fail(code, "use");
  return *this;
}

Statement& Statement::bind(int position, std::string_view value) {
  const char* data = value.data() != nullptr ? value.data() : "";
  const int code = sqlite3_bind_text64(statement_, position, data, value.size(), SQLITE_TRANSIENT, SQLITE_UTF8);
  if (code != SQLITE_OK) database_->fail(code, "use");
  return *this;
}

Statement& Statement::bind_blob(int position, std::string_view bytes) {
  const char* data = bytes.data() != nullptr ? bytes.data() : "";
  const int code = sqlite3_bind_blob64(statement_, position, data, bytes.size(), SQLITE_TRANSIENT);
  if (code != SQLITE_OK) database_->fail(code, "use");
  return *this;
}

Statement& Statement::bind_null(int position) {
  if (const int code = sqlite3_bind_null(statement_, position)) database_->fail(code, "use");
  return *this;
}

bool Statement::step() {
  const int code = sqlite3_step(statement_);
  if (code == SQLITE_ROW) return true;
  if (code == SQLITE_DONE) return false;
  database_->fail(code, "use");
}

void Statement::run() {
  while (step()) {
  }
  reset();
}

void Statement::reset() {
  sqlite3_reset(statement_);  // repeats the code that step() already reported
  sqlite3_clear_bindings(statement_);
}

bool Statement::is_null(int column) const { return sqlite3_column_type(statement_, column) == SQLITE_NULL; }
std::int64_t Statement::integer(int column) const { return sqlite3_column_int64(statement_, column); }
double Statement::number(int column) const { return sqlite3_column_double(statement_, column); }

std::string Statement::text(int column) const {
  const auto* data = reinterpret_cast<const char*>(sqlite3_column_text(statement_, column));
  const int size = sqlite3_column_bytes(statement_, column);
  return data != nullptr ? std::string(data, static_cast<std::size_t>(size)) : std::string();
}

std::string Statement::blob(int column) const {
  const auto* data = static_cast<const char*>(sqlite3_column_blob(statement_, column));
  const int size = sqlite3_column_bytes(statement_, column);
  return data != nullptr ? std::string(data, static_cast<std::size_t>(size)) : std::string();
}

Transaction::Transaction(Database& database) : database_(database) { database_.exec("begin immediate"); }

Transaction::~Transaction() {
  if (!open_) return;
  try {
    database_.exec("rollback");
  } catch (...) {  // SQLite has already rolled back by itself (disk full, I/O fault)
  }
}

void Transaction::commit() {
  database_.exec("commit");
  open_ = false;
}

}  // namespace hardpan::io

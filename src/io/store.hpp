// SPDX-License-Identifier: Apache-2.0
// A SQLite file with statements, typed columns and transactions; knows no table of ours.
//
// Locked by another process, read-only, disk full: EnvironmentError. Damaged or not a SQLite file:
// InputError with a sentence. A mistake in our SQL: std::logic_error.
//
//   Database db("ledger.sqlite");
//   Transaction all(db);
//   Statement put = db.prepare("insert into run(id, pull) values (?, ?)");
//   put.bind(1, "r1").bind(2, 812.5).run();
//   all.commit();
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

struct sqlite3;
struct sqlite3_stmt;

namespace hardpan::io {

class Statement {
 public:
  Statement(Statement&& other) noexcept;
  Statement& operator=(Statement&&) = delete;
  Statement(const Statement&) = delete;
  ~Statement();

  // Positions from 1. NaN is bound as null (SQLite has no NaN).
  Statement& bind(int position, double value);
  Statement& bind(int position, std::int64_t value);
  Statement& bind(int position, int value) { return bind(position, static_cast<std::int64_t>(value)); }
  Statement& bind(int position, std::string_view value);
  Statement& bind(int position, const char* value) { return bind(position, std::string_view(value)); }
  Statement& bind_blob(int position, std::string_view bytes);
  Statement& bind_null(int position);

  bool step();  // true: a row is there
  void run();   // to the end, then reset: for statements without rows
  void reset();

  // Columns from 0, of the row that step() reached.
  [[nodiscard]] bool is_null(int column) const;
  [[nodiscard]] std::int64_t integer(int column) const;
  [[nodiscard]] double number(int column) const;
  [[nodiscard]] std::string text(int column) const;
  [[nodiscard]] std::string blob(int column) const;

 private:
  friend class Database;
  Statement(class Database* database, sqlite3_stmt* statement) : database_(database), statement_(statement) {}
  class Database* database_;
  sqlite3_stmt* statement_;
};

class Database {
 public:
  enum class Mode { read_write_create, read_only };
  // busy_wait_ms: how long a statement waits for another process before it gives up.
  explicit Database(std::string path, Mode mode = Mode::read_write_create, int busy_wait_ms = 2000);
  ~Database();
  Database(const Database&) = delete;
  Database& operator=(const Database&) = delete;

  void exec(const std::string& sql);  // one or more statements without results
  [[nodiscard]] Statement prepare(std::string_view sql);
  [[nodiscard]] std::int64_t last_insert_id() const;
  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  friend class Statement;
  [[noreturn]] void fail(int code, std::string_view doing) const;
  std::string path_;
  sqlite3* handle_ = nullptr;
};

// Begins at once with the write lock; rolls back unless committed.
class Transaction {
 public:
  explicit Transaction(Database& database);
  ~Transaction();
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  void commit();

 private:
  Database& database_;
  bool open_ = true;
};

}  // namespace hardpan::io

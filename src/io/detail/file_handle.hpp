// SPDX-License-Identifier: Apache-2.0
// A POSIX file number that closes itself.
#pragma once

#include <unistd.h>

#include <utility>

namespace hardpan::io::detail {

class FileHandle {
 public:
  FileHandle() = default;
  explicit FileHandle(int number) : number_(number) {}
  FileHandle(FileHandle&& other) noexcept : number_(std::exchange(other.number_, -1)) {}
  FileHandle& operator=(FileHandle&& other) noexcept {
    std::swap(number_, other.number_);
    return *this;
  }
  ~FileHandle() {
    if (number_ >= 0) ::close(number_);
  }
  [[nodiscard]] bool ok() const { return number_ >= 0; }
  [[nodiscard]] int get() const { return number_; }
  // Closes and says whether that worked: a full network disk may only tell now.
  [[nodiscard]] bool close() { return ::close(std::exchange(number_, -1)) == 0; }

 private:
  int number_ = -1;
};

}  // namespace hardpan::io::detail

// SPDX-License-Identifier: Apache-2.0
#include "base/build_id.hpp"

#include <link.h>

#include <cstring>

namespace hardpan::base {
namespace {

// The note segment of the first object, which is the program itself: name size, descriptor size, type, then both,
// each padded to four bytes (ELF specification, "Note Section").
int read_notes(dl_phdr_info* info, std::size_t, void* out) {
  for (int i = 0; i < info->dlpi_phnum; ++i) {
    const auto& header = info->dlpi_phdr[i];
    if (header.p_type != PT_NOTE) continue;
    const auto* at = reinterpret_cast<const unsigned char*>(info->dlpi_addr + header.p_vaddr);
    const auto* end = at + header.p_memsz;
    while (at + sizeof(ElfW(Nhdr)) <= end) {
      ElfW(Nhdr) note;
      std::memcpy(&note, at, sizeof note);
      const auto padded = [](std::size_t n) { return (n + 3) / 4 * 4; };
      const auto* name = at + sizeof note;
      const auto* bytes = name + padded(note.n_namesz);
      if (bytes + note.n_descsz > end) break;
      if (note.n_type == NT_GNU_BUILD_ID && note.n_namesz == 4 && std::memcmp(name, "GNU", 4) == 0) {
        constexpr char kDigits[] = "0123456789abcdef";
        auto& text = *static_cast<std::string*>(out);
        for (std::size_t k = 0; k < note.n_descsz; ++k) {
          text += kDigits[bytes[k] >> 4];
          text += kDigits[bytes[k] & 15];
        }
        return 1;
      }
      at = bytes + padded(note.n_descsz);
    }
  }
  return 1;  // the first object only
}

}  // namespace

std::string build_id() {
  std::string out;
  dl_iterate_phdr(read_notes, &out);
  return out;
}

}  // namespace hardpan::base

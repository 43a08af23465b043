// SPDX-License-Identifier: Apache-2.0
#include "units/constants.hpp"

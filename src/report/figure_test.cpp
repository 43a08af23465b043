// SPDX-License-Identifier: Apache-2.0
#include "report/figure.hpp"

#include <gtest/gtest.h>

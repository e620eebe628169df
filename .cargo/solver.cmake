# Read by the solver's build (HiGHS, through its crate). Its own build compiles each of some hundred and sixty files
# with -O3: over eleven minutes of one core. In batches and at -O2 it is under four, and solves as fast.
set(CMAKE_UNITY_BUILD ON)
set(CMAKE_UNITY_BUILD_BATCH_SIZE 12)
set(CMAKE_CXX_FLAGS_RELEASE "-O2 -DNDEBUG" CACHE STRING "")
set(CMAKE_C_FLAGS_RELEASE "-O2 -DNDEBUG" CACHE STRING "")

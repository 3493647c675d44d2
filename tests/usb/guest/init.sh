#!/bin/sh
# First and only process tree of the kernel test's guest: drivers, network, the test, power off.
mount -t devtmpfs none /dev
mount -t proc none /proc
mount -t sysfs none /sys
mount -t debugfs none /sys/kernel/debug
echo INIT-STARTED
for module in /modules/*.ko; do insmod "$module" || echo "insmod $module failed"; done
ip link set lo up
ip addr add 10.0.2.15/24 dev eth0
ip link set eth0 up
cd /app && node main.mjs
echo "PROGRAM-EXIT $?"
dmesg | tail -n 40
reboot -f

"""Runs w2c_logic_solve of the firmware's ELF in Unicorn, a Cortex-M0 that shares nothing with the chip twin.

In: {elf, start: the module's memory before each solve, evidence_at, evidences}, memories in base64.
Out: {memories: SHA-256 of the module's memory after each solve}.
"""
import base64
import hashlib
import json
import struct
import sys

from unicorn import UC_ARCH_ARM, UC_MODE_MCLASS, UC_MODE_THUMB, Uc
from unicorn.arm_const import UC_ARM_REG_LR, UC_ARM_REG_R0, UC_ARM_REG_R1, UC_ARM_REG_SP, UC_CPU_ARM_CORTEX_M0

FLASH, FLASH_BYTES = 0x10000000, 0x200000
RAM, RAM_BYTES = 0x20000000, 0x42000
# Where a call returns to: the vector table, where no code is.
RETURN = 0x10000100


def segments(elf):
    """Address at run time, address in flash and bytes of each PT_LOAD with contents."""
    at, = struct.unpack_from("<I", elf, 28)
    size, count = struct.unpack_from("<HH", elf, 42)
    for index in range(count):
        kind, offset, virtual, physical, length = struct.unpack_from("<5I", elf, at + index * size)
        if kind == 1 and length > 0:
            yield virtual, physical, elf[offset:offset + length]


def symbols(elf):
    """Addresses by name."""
    at, = struct.unpack_from("<I", elf, 32)
    size, count = struct.unpack_from("<HH", elf, 46)
    sections = [struct.unpack_from("<10I", elf, at + index * size) for index in range(count)]
    found = {}
    for section in sections:
        if section[1] != 2:
            continue
        names = sections[section[6]][4]
        for entry in range(section[4], section[4] + section[5], 16):
            name, value = struct.unpack_from("<II", elf, entry)
            start = names + name
            found[elf[start:elf.index(b"\0", start)].decode()] = value
    return found


def main():
    asked = json.load(sys.stdin)
    with open(asked["elf"], "rb") as file:
        elf = file.read()
    names = symbols(elf)
    cpu = Uc(UC_ARCH_ARM, UC_MODE_THUMB | UC_MODE_MCLASS)
    cpu.ctl_set_cpu_model(UC_CPU_ARM_CORTEX_M0)
    cpu.mem_map(FLASH, FLASH_BYTES)
    cpu.mem_map(RAM, RAM_BYTES)
    for virtual, physical, content in segments(elf):
        cpu.mem_write(physical, content)
        if virtual != physical:
            cpu.mem_write(virtual, content)

    def call(name, *arguments):
        for register, value in zip((UC_ARM_REG_R0, UC_ARM_REG_R1), arguments):
            cpu.reg_write(register, value)
        cpu.reg_write(UC_ARM_REG_SP, names["stack_top"])
        cpu.reg_write(UC_ARM_REG_LR, RETURN | 1)
        cpu.emu_start(names[name] | 1, RETURN)

    call("wasm2c_logic_instantiate", names["logic"], names["board"])
    start = base64.b64decode(asked["start"])
    memories = []
    for evidence in asked["evidences"]:
        cpu.mem_write(names["module_memory"], start)
        cpu.mem_write(names["module_memory"] + asked["evidence_at"], base64.b64decode(evidence))
        call("w2c_logic_solve", names["logic"])
        memory = bytes(cpu.mem_read(names["module_memory"], len(start)))
        memories.append(hashlib.sha256(memory).hexdigest())
    json.dump({"memories": memories}, sys.stdout)


main()

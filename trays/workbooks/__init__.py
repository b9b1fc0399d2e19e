"""Instruments, count sheets and trays as workbooks, in and out."""

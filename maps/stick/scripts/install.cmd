@echo off
rem Windows: runs install.ps1, which lies beside this file.
powershell -NoProfile -ExecutionPolicy Bypass -File "%~dp0install.ps1"
pause

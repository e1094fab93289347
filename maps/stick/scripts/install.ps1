# Installs Loamhaul from this folder, without internet, for the person who runs it.
# Open install.cmd, which runs this. What it does and how to take it away: README.txt.
$ErrorActionPreference = 'Stop'
$stick = $PSScriptRoot
$target = 'windows-x86_64'
$place = Join-Path $env:LOCALAPPDATA 'loamhaul\program'
$uv = Join-Path $place 'uv.exe'
$begun = $false
$failed = $false

# Compare every file that a label of contents.txt names with its length and checksum.
function Test-Files($label) {
    $seen = $false
    foreach ($line in [IO.File]::ReadAllLines("$stick\contents.txt")) {
        $sum, $size, $for, $name = $line -split ' ', 4
        if ($for -ne $label) { continue }
        $seen = $true
        $file = Join-Path $stick $name
        $again = 'Copy the folder onto the stick anew.'
        if (-not (Test-Path -LiteralPath $file)) { throw "$name is missing on the stick. $again" }
        if ((Get-Item -LiteralPath $file).Length -ne [long]$size) {
            throw "$name is not as long as it was written. $again"
        }
        if ((Get-FileHash -LiteralPath $file -Algorithm SHA256).Hash -ne $sum) {
            throw "$name is damaged: its checksum is not the one in contents.txt. $again"
        }
    }
    if (-not $seen) { throw "This stick has nothing for this computer ($label)." }
}

# The newest Python on this computer that the stick has wheels for: version and program.
function Find-Python {
    $ErrorActionPreference = 'Continue'
    foreach ($pinned in Get-ChildItem "$stick\pins\$target-*.txt" | Sort-Object Name -Descending) {
        $version = $pinned.BaseName.Substring($target.Length + 1)
        $python = & $uv python find --system --no-project $version 2>$null
        if ($LASTEXITCODE -eq 0) { return @($version, "$python") }
    }
    return $null
}

try {
    Write-Host 'Looking at the stick ...'
    Test-Files $target
    if (Test-Path $place) {
        if (-not (Test-Path "$place\installed.txt")) { throw "$place is there already and is not Loamhaul's." }
        if (Test-Path "$place.old") { Remove-Item -Recurse -Force "$place.old" }
        Move-Item -LiteralPath $place "$place.old"
    }
    $begun = $true
    New-Item -ItemType Directory -Force $place | Out-Null
    Copy-Item -LiteralPath "$stick\programs\$target\uv.exe" $uv

    # uv sees nothing of this computer's settings, and may not use the internet.
    Get-ChildItem Env: | Where-Object { $_.Name -match '^(UV_|PYTHON|VIRTUAL_ENV)' } |
        ForEach-Object { Remove-Item "Env:$($_.Name)" }
    $env:UV_OFFLINE = '1'; $env:UV_NO_CONFIG = '1'; $env:UV_LINK_MODE = 'copy'
    $env:UV_PYTHON_DOWNLOADS = 'never'; $env:UV_CACHE_DIR = "$place\cache"

    $found = Find-Python
    if (-not $found) {
        $listed = [IO.File]::ReadAllLines("$stick\contents.txt") |
            Where-Object { $_ -match " $target python/[^/]+\.exe$" } | Select-Object -First 1
        if ($listed) {
            Write-Host 'Python is not here yet. Its installer opens: choose "Install Now".'
            $sum, $size, $for, $name = $listed -split ' ', 4
            Start-Process -Wait -FilePath (Join-Path $stick $name)
            $found = Find-Python
        }
    }
    if (-not $found) {
        $wanted = (Get-ChildItem "$stick\pins\$target-*.txt").BaseName -replace "^$target-", '' -join ', '
        throw "This computer has no Python that the stick is made for ($wanted). Fetch its " +
            'Windows installer (64-bit) from the web site of Python where there is internet, ' +
            'bring it on the stick, in the folder python, and open it. Then run this again.'
    }
    $version, $python = $found
    Write-Host "Checking the wheels for Python $version ..."
    Test-Files "$target-$version"
    Write-Host "Installing into $place ..."
    & $uv venv -q --no-project --python $python "$place\environment"
    if ($LASTEXITCODE) { throw 'The private environment could not be made.' }
    & $uv pip install -q --python "$place\environment" --no-index --find-links "$stick\wheels" `
        --only-binary :all: --require-hashes --compile-bytecode -r "$stick\pins\$target-$version.txt"
    if ($LASTEXITCODE) { throw 'The wheels could not be installed.' }
    Remove-Item -Recurse -Force "$place\cache" -ErrorAction SilentlyContinue
    & "$place\environment\Scripts\loamhaul.exe" --version
    if ($LASTEXITCODE) { throw 'Loamhaul does not start.' }
    Copy-Item -LiteralPath "$stick\README.txt", "$stick\manual.html" $place

    $starter = Join-Path ([Environment]::GetFolderPath('Desktop')) 'Loamhaul desk.lnk'
    $link = (New-Object -ComObject WScript.Shell).CreateShortcut($starter)
    $link.TargetPath = "$place\environment\Scripts\loamhaul.exe"
    $link.Arguments = 'desk'
    $link.Save()
    Set-Content -LiteralPath "$place\installed.txt" 'Loamhaul', $place, $starter
    $begun = $false
    if (Test-Path "$place.old") { Remove-Item -Recurse -Force "$place.old" -ErrorAction SilentlyContinue }
    Write-Host ''
    Write-Host 'Loamhaul is installed, for you alone. Open it with the starter on your desktop.'
    Write-Host "To take it away again, delete`n  $place`n  $starter"
    Write-Host 'Your districts, in the folder Loamhaul of your documents, stay.'
}
catch {
    Write-Host "`n$_" -ForegroundColor Red
    Write-Host 'Nothing was installed.'
    $failed = $true
}
finally {
    # Whatever fails, an older installation is there again and no half of a new one.
    if ($begun) {
        Remove-Item -Recurse -Force $place -ErrorAction SilentlyContinue
        if (Test-Path "$place.old") { Move-Item -LiteralPath "$place.old" $place }
    }
}
if ($failed) { exit 1 }

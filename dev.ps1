# Mirrors ./dev demo and ./dev test on Windows.
param([Parameter(Position = 0)][string]$Verb = "", [Parameter(Position = 1, ValueFromRemainingArguments = $true)][string[]]$Rest)
$ErrorActionPreference = "Stop"
Set-Location $PSScriptRoot
$configuration = "Release"

if (-not (Get-Command dotnet -ErrorAction SilentlyContinue) -or -not (dotnet --list-sdks | Select-String '^(1[0-9]|[2-9][0-9])\.')) {
    Write-Error "The .NET 10 SDK is missing. Get it from https://dotnet.microsoft.com/download/dotnet/10.0, then run dev.ps1 again."
}

function Build($project) {
    dotnet build $project -c $configuration -v quiet -nologo
    if ($LASTEXITCODE -ne 0) { exit 1 }
}

function Find-Program($folder, $name) {
    (Get-ChildItem -Recurse -Path "$folder/bin/$configuration" -Filter $name | Where-Object { $_.FullName -notmatch '[\\/]ref[\\/]' } | Select-Object -First 1).FullName
}

switch ($Verb) {
    "demo" {
        Build "src/OverlayPlanner.Cli"
        if (-not $Rest) { $Rest = @("--out", "demo-out") }
        dotnet (Find-Program "src/OverlayPlanner.Cli" "overlayplanner.dll") demo @Rest
        exit $LASTEXITCODE
    }
    "workroom" {
        Build "src/OverlayPlanner.Cli"
        dotnet (Find-Program "src/OverlayPlanner.Cli" "overlayplanner.dll") workroom --open @Rest
        exit $LASTEXITCODE
    }
    "test" {
        Build "OverlayPlanner.sln"
        $failed = 0
        foreach ($name in "OverlayPlanner.Tests", "OverlayPlanner.AcceptanceTests", "OverlayPlanner.BrowserTests") {
            Write-Host "== $name"
            dotnet (Find-Program "tests/$name" "$name.dll")
            if ($LASTEXITCODE -ne 0) { $failed++ }
        }
        if ($failed -gt 0) { Write-Host "$failed of 3 test programs failed"; exit 1 }
        Write-Host "all test programs passed"
    }
    default {
        Write-Host ".\dev.ps1 demo [--out DIR]   the whole job on the bundled sample, into a folder"
        Write-Host ".\dev.ps1 workroom           the workroom in a browser, on this machine alone"
        Write-Host ".\dev.ps1 test               the tests"
    }
}

namespace PavementWatch.Gateway.Tests.Hardware;

/// <summary>The units for systemd: what they wait for, and that they are started again whatever ends them.</summary>
public sealed class UnitFilesTests
{
    [Theory]
    // The note is redeemed over the network, and a certificate is judged by the clock.
    [InlineData("pavementwatch-enrol.service", "Unit", "After", "network-online.target time-sync.target")]
    [InlineData("pavementwatch-enrol.service", "Unit", "Wants", "network-online.target time-sync.target")]
    [InlineData("pavementwatch-enrol.service", "Unit", "StartLimitIntervalSec", "0")]
    [InlineData("pavementwatch-enrol.service", "Service", "Restart", "on-failure")]
    [InlineData("pavementwatch-enrol.service", "Service", "RestartSec", "10")]
    [InlineData("pavementwatch-enrol.service", "Service", "ExecStart", "/opt/pavementwatch-builds/current/PavementWatch.Gateway enrol --wait")]
    [InlineData("pavementwatch-enrol.service", "Install", "WantedBy", "multi-user.target")]
    // Readings are kept and dated later: it waits for nothing.
    [InlineData("pavementwatch-gateway.service", "Unit", "After", null)]
    [InlineData("pavementwatch-gateway.service", "Unit", "StartLimitIntervalSec", "0")]
    [InlineData("pavementwatch-gateway.service", "Service", "Type", "notify")]
    [InlineData("pavementwatch-gateway.service", "Service", "Restart", "always")]
    [InlineData("pavementwatch-gateway.service", "Service", "RestartSec", "10")]
    [InlineData("pavementwatch-gateway.service", "Service", "RestartPreventExitStatus", "2")]
    [InlineData("pavementwatch-gateway.service", "Service", "WatchdogSec", "300")]
    [InlineData("pavementwatch-gateway.service", "Service", "ExecStart", "/opt/pavementwatch-builds/current/PavementWatch.Gateway run")]
    [InlineData("pavementwatch-gateway.service", "Install", "WantedBy", "multi-user.target")]
    public void A_unit_says(string unit, string section, string key, string? value)
    {
        var lines = File.ReadAllLines(Path.Combine(HardwarePage.Folder, unit));
        var inSection = lines.SkipWhile(line => line != $"[{section}]").Skip(1).TakeWhile(line => !line.StartsWith('['));
        Assert.Equal(value, inSection.Where(line => line.StartsWith($"{key}=", StringComparison.Ordinal)).Select(line => line[(key.Length + 1)..]).SingleOrDefault());
    }
}

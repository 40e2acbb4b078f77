using Microsoft.Data.Sqlite;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Tests.Processes;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Commands;

/// <summary>Commands that write, on a disk with no room for a byte while a server has the registry open.</summary>
public sealed class FullDiskCommandTests
{
    private static readonly string[] Writing =
    [
        "person link Ines", "person add Tobias --role walker", "person role Ines --role analyst", "person rename Ines Inés", "person unit Ines --in celsius",
        "person remove Ines", "person erase Ines --yes", "gateway code north-gate", "gateway add north-gate --spots plaza", "gateway edit north-gate --spots steps",
        "gateway remove north-gate", "fit --spot plaza", "spot edit plaza --limit 45", "spot remove plaza",
    ];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Each_says_in_one_line_where_there_is_no_room_and_what_to_do()
    {
        using var disk = SmallDisk.Require(Directory.CreateTempSubdirectory("pw-full-").FullName, kilobytes: 16_384);
        var data = Path.Combine(disk.Folder, "data");
        await MakeAsync(data);
        await using var open = await OpenAsync(data);
        disk.Fill();

        foreach (var line in Writing)
        {
            using var output = new StringWriter();
            using var error = new StringWriter();
            var exit = await CommandLine.RunAsync([.. line.Split(' '), $"--Data:Folder={data}"], output, error);

            Assert.True(exit == CommandLine.Failed, $"{line}: {exit}{Environment.NewLine}{output}{error}");
            AssertSaysWhere(data, error.ToString().Trim(), line);
        }

        SqliteConnection.ClearAllPools();
    }

    [Fact]
    public async Task Nothing_else_is_printed_by_the_program_itself()
    {
        using var disk = SmallDisk.Require(Directory.CreateTempSubdirectory("pw-full-").FullName, kilobytes: 16_384);
        var data = Path.Combine(disk.Folder, "data");
        await MakeAsync(data);
        await using var open = await OpenAsync(data);
        disk.Fill();

        await using var program = ServerProcess.Start("person", "link", "Ines", $"--Data:Folder={data}");
        var exit = await program.ExitAsync();
        await Patience.UntilAsync(() => program.Said.Contains("registry", StringComparison.Ordinal), () => $"it says only: {program.Said}");

        Assert.Equal(CommandLine.Failed, exit);
        AssertSaysWhere(data, program.Said.Trim(), "person link Ines");
        SqliteConnection.ClearAllPools();
    }

    private static void AssertSaysWhere(string data, string said, string line)
    {
        Assert.True(said.Split('\n').Length == 1, $"{line}: more than a line: {said}");
        Assert.StartsWith($"registry {Path.Combine(data, "registry.sqlite")}: ", said, StringComparison.Ordinal);
        Assert.EndsWith("its disk has no free space: make room there", said, StringComparison.Ordinal);
    }

    private static async Task MakeAsync(string data)
    {
        foreach (var line in new[]
        {
            "person add Marta --role business", "person add Ines --role walker",
            "spot add plaza --name Plaza --surface asphalt --latitude 37.4 --longitude -97 --time-zone America/Chicago",
            "spot add steps --name Steps --surface asphalt --latitude 37.4 --longitude -97 --time-zone America/Chicago",
            "gateway add north-gate --spots plaza",
        })
        {
            using var said = new StringWriter();
            Assert.True(await CommandLine.RunAsync([.. line.Split(' '), $"--Data:Folder={data}"], said, said) == CommandLine.Done, said.ToString());
        }
    }

    // As a running server has it: the files beside the registry are there.
    private static async Task<SqliteConnection> OpenAsync(string data)
    {
        SqliteConnection.ClearAllPools();
        var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = Path.Combine(data, "registry.sqlite"), Pooling = false }.ToString());
        await connection.OpenAsync(Cancel);
        await using var look = connection.CreateCommand();
        look.CommandText = "SELECT COUNT(*) FROM \"People\"";
        await look.ExecuteScalarAsync(Cancel);
        return connection;
    }
}

using System.CommandLine;
using System.Net;
using System.Text;
using PavementWatch.Gateway.Commands;
using PavementWatch.Gateway.Enrolment;
using PavementWatch.Gateway.Tests.Publishing;
using PavementWatch.Gateway.Tests.Sizing;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Enrolment;

/// <summary>The verb <c>enrol</c> against a listener on loopback that answers as the server does.</summary>
public sealed class EnrolmentTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();
    private readonly HttpListener _listener = new();
    private readonly int _port = TestBroker.FreePort();

    public EnrolmentTests()
    {
        _listener.Prefixes.Add($"http://127.0.0.1:{_port}/");
        _listener.Start();
    }

    public void Dispose()
    {
        _listener.Close();
        _folder.Dispose();
    }

    [Fact]
    public async Task Good_code_brings_everything_a_gateway_needs_to_publish()
    {
        await using var broker = await TestBroker.StartAsync();
        broker.Login = ("north-gate", "correct horse");
        var asked = AnswerAsync(200, $$"""
            {"gateway":"north-gate","user":"north-gate","password":"correct horse","brokerHost":"127.0.0.1","brokerPort":{{broker.Port}},"caPem":"",
             "spots":[{"id":"north-gate-plaza","name":"North Gate plaza","surface":"asphalt","limitCelsius":47.5}]}
            """);

        var (code, output, error) = await RunAsync($"enrol ABCD-EFGH --server http://127.0.0.1:{_port}");

        Assert.Equal((0, ""), (code, error));
        Assert.Contains("enrolled as north-gate for 1 spots (north-gate-plaza)", output, StringComparison.Ordinal);
        Assert.DoesNotContain("correct horse", output, StringComparison.Ordinal);
        Assert.Equal("POST /api/enrol {\"code\":\"ABCD-EFGH\"}", await asked);
        if (!OperatingSystem.IsWindows())
            Assert.Equal(UnixFileMode.UserRead | UnixFileMode.UserWrite, File.GetUnixFileMode(_folder["password"]));

        var (checkCode, checkOutput, _) = await RunAsync(
            "check --Clock:Trust=System --Probes:air:Kind=Ds18b20 --Probes:air:Spot=north-gate-plaza");
        Assert.Contains("ok   sign-in: as north-gate", checkOutput, StringComparison.Ordinal);
        Assert.Contains("ok   publish: acknowledged", checkOutput, StringComparison.Ordinal);
        // There is no such probe here, and the check says so.
        Assert.Equal(1, checkCode);
    }

    [Theory]
    [InlineData(false, "pavementwatch.txt is removed, its code is used up")]
    [InlineData(true, "cannot be removed (Read-only file system")]
    public async Task Note_on_the_card_is_removed_after_use_and_a_read_only_card_is_said_so(bool readOnly, string expected)
    {
        using var card = readOnly ? SmallDisk.Require(_folder["card"], kilobytes: 100) : null;
        Directory.CreateDirectory(_folder["card"]);
        var note = _folder["card/pavementwatch.txt"];
        await File.WriteAllTextAsync(note, $"server=http://127.0.0.1:{_port}\ncode=ABCD-EFGH\n", TestContext.Current.CancellationToken);
        card?.Remount("ro");
        _ = AnswerAsync(200, """{"gateway":"north-gate","user":"north-gate","password":"p","brokerHost":"127.0.0.1","brokerPort":1883,"caPem":"","spots":[]}""");

        var run = await EnrolByNoteAsync(note);

        Assert.Equal((0, ""), (run.ExitCode, run.Error));
        Assert.Contains(expected, run.Output, StringComparison.Ordinal);
        Assert.Equal(readOnly, File.Exists(note));
    }

    [Fact]
    public async Task Note_stays_on_the_card_when_its_code_was_not_used()
    {
        var note = _folder["pavementwatch.txt"];
        await File.WriteAllTextAsync(note, $"server=http://127.0.0.1:{_port}\ncode=ABCD-EFGH\n", TestContext.Current.CancellationToken);
        _ = AnswerAsync(429, "");

        Assert.Equal(1, (await EnrolByNoteAsync(note)).ExitCode);

        Assert.True(File.Exists(note));
    }

    [Theory]
    [InlineData(404, "", "does not know this code; look for a mistyped character")]
    [InlineData(409, "", "this code was used before; ask the business page for a new one")]
    [InlineData(410, "{\"detail\":\"it was made at 10:02\"}", "this code has expired; codes live 30 minutes, ask the business page for a new one (it was made at 10:02)")]
    [InlineData(429, "", "too many attempts; wait a minute")]
    [InlineData(500, "<html>", "the server answered 500")]
    [InlineData(200, "<html>", "answered something else than an enrolment")]
    [InlineData(200, "{\"gateway\":\"x\"}", "answered something else than an enrolment")]
    [InlineData(200, "{\"gateway\":\"North Gate\",\"user\":\"u\",\"password\":\"p\",\"brokerHost\":\"h\",\"brokerPort\":1}", "gateway 'North Gate', which cannot be")]
    public async Task Refused_code_says_what_to_do_and_writes_nothing(int status, string body, string expected)
    {
        _ = AnswerAsync(status, body);

        var (code, _, error) = await RunAsync($"enrol ABCD-EFGH --server http://127.0.0.1:{_port}");

        Assert.Equal(1, code);
        Assert.Contains(expected, error, StringComparison.Ordinal);
        Assert.False(File.Exists(_folder["enrolment.json"]));
    }

    [Fact]
    public async Task Server_that_is_not_there_is_said_so()
    {
        var (code, _, error) = await RunAsync($"enrol ABCD-EFGH --server http://127.0.0.1:{TestBroker.FreePort()}");

        Assert.Equal(1, code);
        Assert.Contains("was not reached", error, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("server=https://walks.example\ncode = ABCD-EFGH\n", "https://walks.example/", "ABCD-EFGH", null)]
    [InlineData("# from the page\r\nSERVER=http://10.0.0.2:5080\r\nCode=XY\r\nfingerprint=AA:BB\r\n", "http://10.0.0.2:5080/", "XY", "AA:BB")]
    public void Note_on_the_boot_partition_is_read(string text, string server, string code, string? fingerprint)
    {
        var (note, fault) = BootFile.Read(text);

        Assert.Null(fault);
        Assert.Equal(new BootFile(new Uri(server), code, fingerprint), note);
    }

    [Theory]
    [InlineData("code=XY", "server is '', expected an address")]
    [InlineData("server=walks\ncode=XY", "server is 'walks', expected an address")]
    [InlineData("server=https://walks.example", "code is missing")]
    [InlineData("hello", "'hello' is no line of it")]
    public void Odd_note_is_named(string text, string expected) =>
        Assert.Contains(expected, BootFile.Read(text).Fault, StringComparison.Ordinal);

    private Task<CommandRun> EnrolByNoteAsync(string note)
    {
        var settings = new SettingsArguments();
        var root = new RootCommand { settings.Data, EnrolCommand.Create(settings, [_folder["nowhere.txt"], note]) };
        return CommandRun.OfAsync(root, "enrol", "--data", _folder["data"]);
    }

    private async Task<string> AnswerAsync(int status, string body)
    {
        var context = await _listener.GetContextAsync();
        using var reader = new StreamReader(context.Request.InputStream);
        var asked = $"{context.Request.HttpMethod} {context.Request.Url!.AbsolutePath} {await reader.ReadToEndAsync()}";
        context.Response.StatusCode = status;
        context.Response.ContentType = "application/json";
        await context.Response.OutputStream.WriteAsync(Encoding.UTF8.GetBytes(body));
        context.Response.Close();
        return asked;
    }

    private async Task<(int Code, string Output, string Error)> RunAsync(string line)
    {
        StringBuilder output = new(), error = new();
        await using StringWriter outputWriter = new(output), errorWriter = new(error);
        var code = await CommandLine.RunAsync([.. line.Split(' '), "--data", _folder["."]], outputWriter, errorWriter);
        return (code, output.ToString(), error.ToString());
    }
}

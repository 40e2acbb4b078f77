using System.Net;
using System.Net.Security;
using System.Net.Sockets;
using System.Security.Authentication;
using System.Security.Cryptography;
using Microsoft.Extensions.Options;
using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Settings;

namespace PavementWatch.Gateway.Checks;

/// <summary>The way to the server, step by step: name, port, TLS, sign-in, a message acknowledged. Stops at the first step that fails.</summary>
internal sealed class ServerCheck(IOptions<PublishingOptions> publishing, IOptions<GatewayOptions> gateway, LinkFault fault) : ICheck
{
    private readonly PublishingOptions _options = publishing.Value;

    public async Task<IReadOnlyList<Finding>> RunAsync(CancellationToken cancellationToken)
    {
        List<Finding> findings = [];
        // Signing in and publishing bound themselves, and then say which of the two did not end.
        (Func<CancellationToken, Task<IReadOnlyList<Finding>>> Do, TimeSpan Within)[] steps =
            [(NameAsync, _options.AnswerTimeout), (PortAsync, _options.AnswerTimeout), (LinkAsync, 4 * _options.AnswerTimeout)];
        foreach (var step in steps)
        {
            using var patience = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
            patience.CancelAfter(step.Within);
            findings.AddRange(await step.Do(patience.Token));
            if (findings.Any(finding => finding.Verdict == Verdict.Failed))
                break;
        }
        return findings;
    }

    private async Task<IReadOnlyList<Finding>> NameAsync(CancellationToken cancellationToken)
    {
        try
        {
            var addresses = await Dns.GetHostAddressesAsync(_options.BrokerHost, cancellationToken);
            return [new Finding(Verdict.Good, $"name {_options.BrokerHost}", string.Join(", ", addresses.Select(address => address.ToString())))];
        }
        catch (Exception error) when (error is SocketException or OperationCanceledException)
        {
            return [new Finding(Verdict.Failed, $"name {_options.BrokerHost}", error.Message, "look at the network and Publishing:BrokerHost")];
        }
    }

    private async Task<IReadOnlyList<Finding>> PortAsync(CancellationToken cancellationToken)
    {
        var what = $"port {_options.Port}";
        List<Finding> findings = [];
        using var tcp = new TcpClient();
        try
        {
            await tcp.ConnectAsync(_options.BrokerHost, _options.Port, cancellationToken);
            findings.Add(new Finding(Verdict.Good, what, "somebody listens"));
        }
        catch (Exception error) when (error is SocketException or OperationCanceledException)
        {
            return [new Finding(Verdict.Failed, what, error.Message, "is the server running, its firewall open, and Publishing:BrokerPort right?")];
        }
        if (!_options.Tls)
        {
            findings.Add(new Finding(Verdict.Doubtful, "TLS", "switched off by Publishing:Tls; readings and password travel in the open", "fine on this machine, nowhere else"));
            return findings;
        }
        string? fault = null;
        try
        {
            var authorities = ServerCertificate.Authorities(_options.AuthorityFile);
            await using var tls = new SslStream(
                tcp.GetStream(), false, (_, certificate, chain, errors) => (fault = ServerCertificate.Fault(certificate, chain, errors, authorities, _options.BrokerHost)) is null);
            await tls.AuthenticateAsClientAsync(new SslClientAuthenticationOptions { TargetHost = _options.BrokerHost }, cancellationToken);
            findings.Add(new Finding(Verdict.Good, "TLS", $"{tls.SslProtocol}, certificate of {tls.RemoteCertificate?.Subject}, valid to {tls.RemoteCertificate?.GetExpirationDateString()}"));
        }
        catch (Exception error) when (error is AuthenticationException or IOException or OperationCanceledException or CryptographicException)
        {
            findings.Add(new Finding(Verdict.Failed, "TLS", fault ?? error.Message, fault is null ? "does the server speak TLS at this port?" : ""));
        }
        return findings;
    }

    private async Task<IReadOnlyList<Finding>> LinkAsync(CancellationToken cancellationToken)
    {
        List<Finding> findings = [];
        try
        {
            // Beside the gateway that may be running: its connection and what it last reported stay as they are.
            await using var link = await MqttLink.ConnectAsync(_options, gateway.Value.GatewayId, onSettings: null, cancellationToken);
            findings.Add(new Finding(Verdict.Good, "sign-in", $"as {_options.User ?? gateway.Value.Id}"));
            var answer = await link.SendNothingAsync(cancellationToken);
            findings.Add(answer switch
            {
                PackAnswer.Taken => new Finding(Verdict.Good, "publish", "acknowledged"),
                PackAnswer.Refused(var reason) => new Finding(Verdict.Failed, "publish", reason, "does this gateway's name fit the one it was enrolled with?"),
                PackAnswer.NotNow(var reason) => new Finding(Verdict.Failed, "publish", reason, "look at the server's log"),
                _ => new Finding(Verdict.Failed, "publish", "no answer"),
            });
            await link.CloseAsync(cancellationToken);
            if (fault.Kept() is { } kept)
                findings.Add(new Finding(Verdict.Doubtful, "connection of the running gateway", kept));
        }
        catch (Exception error) when (error is LinkException or OperationCanceledException)
        {
            findings.Add(new Finding(Verdict.Failed, findings.Count == 0 ? "sign-in" : "publish", error.Message));
        }
        return findings;
    }
}

using System.Text.Json;
using MQTTnet;
using MQTTnet.Protocol;

namespace PavementWatch.Server.Broker;

/// <summary>Keeps the embedded broker's retained messages (status, settings) over a restart: one small JSON file, replaced whole.</summary>
internal sealed class RetainedFile(string path, ILogger logger) : IDisposable
{
    private readonly SemaphoreSlim _one = new(1, 1);

    /// <summary>What was kept; nothing when there is no file. A damaged one is set aside under another name.</summary>
    public async Task<List<MqttApplicationMessage>> LoadAsync()
    {
        if (!File.Exists(path))
            return [];
        try
        {
            await using var file = File.OpenRead(path);
            var kept = await JsonSerializer.DeserializeAsync<List<Kept>>(file) ?? [];
            return [.. kept.Select(one => new MqttApplicationMessageBuilder().WithTopic(one.Topic).WithPayload(one.Payload)
                .WithRetainFlag().WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).Build())];
        }
        catch (Exception failure) when (failure is JsonException or ArgumentException)
        {
            var aside = path + ".damaged";
            File.Move(path, aside, overwrite: true);
            Log.RetainedDamaged(logger, path, aside, failure);
            return [];
        }
    }

    /// <summary>Keeps these and no others. A failure is logged: the messages still serve until the restart.</summary>
    public async Task SaveAsync(IEnumerable<MqttApplicationMessage> messages)
    {
        var kept = messages.Select(message => new Kept(message.Topic, Bytes.Of(message.Payload).ToArray())).ToList();
        await _one.WaitAsync();
        try
        {
            if (Path.GetDirectoryName(Path.GetFullPath(path)) is { } folder)
                Directory.CreateDirectory(folder);
            var next = path + ".next";
            await using (var file = new FileStream(next, FileMode.Create, FileAccess.Write))
            {
                await JsonSerializer.SerializeAsync(file, kept);
                file.Flush(flushToDisk: true);
            }

            File.Move(next, path, overwrite: true);
        }
        catch (Exception failure) when (failure is IOException or UnauthorizedAccessException)
        {
            Log.RetainedNotKept(logger, path, failure);
        }
        finally
        {
            _one.Release();
        }
    }

    public void Dispose() => _one.Dispose();

    private sealed record Kept(string Topic, byte[] Payload);
}

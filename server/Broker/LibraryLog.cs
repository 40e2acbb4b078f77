using MQTTnet.Diagnostics.Logger;

namespace PavementWatch.Server.Broker;

/// <summary>What the MQTT library has to say, at debug level: what matters of it we say ourselves, with the remedy.</summary>
internal sealed class LibraryLog(ILogger logger) : IMqttNetLogger
{
    public bool IsEnabled => logger.IsEnabled(LogLevel.Debug);

    public void Publish(MqttNetLogLevel logLevel, string source, string message, object[] parameters, Exception exception)
    {
        if (IsEnabled && logLevel >= MqttNetLogLevel.Info)
            Log.Library(logger, parameters is { Length: > 0 } ? $"{source}: {string.Format(message, parameters)}" : $"{source}: {message}", exception);
    }
}

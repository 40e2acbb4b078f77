using System.Buffers;

namespace PavementWatch.Server.Broker;

/// <summary>A message's payload in one piece.</summary>
internal static class Bytes
{
    public static ReadOnlyMemory<byte> Of(ReadOnlySequence<byte> payload) =>
        payload.IsSingleSegment ? payload.First : payload.ToArray();
}
